// SPDX-License-Identifier: GPL-3.0-or-later
#include "clockassay/oscillator/requirements.h"

#include <doctest/doctest.h>

#include <cmath>
#include <cstdint>
#include <set>
#include <string>

namespace clockassay {
namespace {

Rational ratio(Int128 num, Int128 den) {
  return Rational::make(num, den).value();
}

const Requirement& row(std::string_view id) {
  const Requirement* found = find_requirement(id);
  INFO(std::string(id));
  REQUIRE(found != nullptr);
  return *found;
}

TEST_CASE("requirements: every row is complete and consistent") {
  std::set<std::string_view> ids;
  for (const Requirement& r : requirements()) {
    CAPTURE(std::string(r.id));
    CHECK(ids.insert(r.id).second);
    CHECK(r.id.find_first_not_of("abcdefghijklmnopqrstuvwxyz0123456789-") ==
          std::string_view::npos);
    CHECK_FALSE(r.title.empty());
    CHECK_FALSE(r.standard.empty());
    // A row without any limit has nothing to judge.
    CHECK((r.tolerance || r.duty) != r.computed);
    if (r.nominal_hz) CHECK(*r.nominal_hz > 0);
    if (r.tolerance) {
      CHECK(r.tolerance->low_ppm < Rational(0));
      CHECK(r.tolerance->high_ppm > Rational(0));
    }
    if (r.duty) {
      CHECK(r.duty->low > 0);
      CHECK(r.duty->low < 0.5);
      // All known limits are symmetric; the sum misses 1 by rounding only.
      CHECK(std::abs(r.duty->low + r.duty->high - 1) <= 0x1p-52);
    }
    CHECK(find_requirement(r.id) == &r);
  }
}

TEST_CASE("requirements: what is known from memory or derived never decides") {
  int from_memory = 0;
  for (const Requirement& r : requirements()) {
    CAPTURE(std::string(r.id));
    if (r.known_by != KnownBy::kMemory && r.known_by != KnownBy::kDerived) {
      continue;
    }
    ++from_memory;
    CHECK_FALSE(r.may_decide);
  }
  CHECK(from_memory > 0);
}

TEST_CASE("requirements: published values") {
  struct Row {
    const char* id;
    std::int64_t ppm;
    std::string_view standard;
    std::string_view clause;
  };
  const Row rows[] = {
      // USB 2.0 section 7.1.11: data rates 0.05 %, 0.25 %, 1.5 %.
      {"usb-hs", 500, "USB 2.0", "7.1.11"},
      {"usb-hs-capable-at-fs", 500, "USB 2.0", "7.1.11"},
      {"usb-fs-device", 2500, "USB 2.0", "7.1.11"},
      {"usb-ls-device", 15000, "USB 2.0", "7.1.11"},
      // IEEE 802.3 as cited by public conformance test suites:
      // 125 MHz +-6.25 kHz and 125 MHz +-0.01 %.
      {"eth-100base-tx", 50, "IEEE 802.3", "24.2.3.4, clause 25"},
      {"eth-1000base-t", 100, "IEEE 802.3", "40.6.1.2.6"},
      // IEEE 802.3, media independent interface.
      {"mii-txclk-100", 100, "IEEE 802.3", "22.2.2.1"},
      {"mii-rxclk-100", 100, "IEEE 802.3", "22.2.2.2"},
      // IEC 63035:2017 section 4.1: 31.25 kBd +-1 %.
      {"midi", 10000, "IEC 63035:2017", "4.1"},
      // PCI Express Base 2.0 section 4.3.7.4: +-300 ppm.
      {"pcie-refclk", 300, "PCI Express Base 2.0", "4.3.7.4"},
  };
  for (const Row& expected : rows) {
    const Requirement& r = row(expected.id);
    CAPTURE(expected.id);
    REQUIRE(r.tolerance.has_value());
    CHECK(r.tolerance->low_ppm == Rational(-expected.ppm));
    CHECK(r.tolerance->high_ppm == Rational(expected.ppm));
    CHECK(r.standard == expected.standard);
    CHECK(r.clause == expected.clause);
    CHECK(r.may_decide);
  }
  // PCI Express Base 2.0 section 4.3.7.4: 300 ppm and 0 to -0.5 % spread.
  CHECK(row("pcie-refclk-ssc").tolerance->low_ppm == Rational(-5300));
  CHECK(row("pcie-refclk-ssc").tolerance->high_ppm == Rational(300));
  // USB 2.0 section 7.1.11 gives the same in bits per second.
  CHECK(row("usb-ls-device").nominal_hz == 1500000);
  CHECK(multiply(1500000, ratio(15000, 1000000)) == Rational(22500));
}

TEST_CASE("requirements: misprints seen in public texts are not repeated") {
  // A web page has 1.48 to 1.52 Mb/s for low speed, ±1.33 %; it is ±1.5 %.
  CHECK(row("usb-ls-device").tolerance->high_ppm == Rational(15000));
  CHECK(row("usb-ls-device").tolerance->high_ppm != ratio(20000, 15));
  // A manual gives high-speed devices ±0.25 %; that is for those of full speed
  // only.
  CHECK(row("usb-hs").tolerance->high_ppm == Rational(500));
  CHECK(row("usb-hs-capable-at-fs").tolerance->high_ppm == Rational(500));
  CHECK(row("usb-fs-device").title.find("only") != std::string_view::npos);
}

TEST_CASE("requirements: duty limits") {
  // IEEE 802.3 MII: 35 % to 65 %.
  CHECK(row("mii-txclk-10").duty->low == 0.35);
  CHECK(row("mii-txclk-10").duty->high == 0.65);
  // RGMII v2.0 timing table: 45 % to 55 % at 1000 Mb/s, 40 % to 60 % below.
  CHECK(row("rgmii-1000-duty").duty->low == 0.45);
  CHECK(row("rgmii-100-duty").duty->high == 0.6);
  CHECK_FALSE(row("rgmii-1000-duty").tolerance.has_value());
}

TEST_CASE("find_requirement: only the exact id, with a suggestion else") {
  CHECK(find_requirement("usb-fs") == nullptr);
  CHECK(find_requirement("") == nullptr);
  CHECK(find_requirement("USB-HS") == nullptr);
  CHECK(nearest_requirement_id("usb-fs") == "usb-fs-device");
  CHECK(nearest_requirement_id("usb_hs") == "usb-hs");
  CHECK(nearest_requirement_id("can-clasic") == "can-classic");
  CHECK(nearest_requirement_id("no such thing").empty());
}

TEST_CASE("known_by_name: six different names") {
  std::set<std::string> names;
  for (int i = 0; i <= static_cast<int>(KnownBy::kStated); ++i) {
    names.insert(known_by_name(static_cast<KnownBy>(i)));
  }
  CHECK(names.size() == 6);
  CHECK(std::string(known_by_name(KnownBy::kDataSheet)) == "data_sheet");
}

}  // namespace
}  // namespace clockassay
