// SPDX-License-Identifier: GPL-3.0-or-later
#include "capture/vcd_timescale.h"

#include <doctest/doctest.h>

#include <string>

namespace clockassay {
namespace {

TEST_CASE("parse_vcd_timescale: 1, 10, 100 of each unit, exactly") {
  Int128 per_second = 1;
  for (const char* unit : {"s", "ms", "us", "ns", "ps", "fs"}) {
    for (const int n : {1, 10, 100}) {
      CAPTURE(unit);
      CAPTURE(n);
      const auto got = parse_vcd_timescale(std::to_string(n) + unit);
      REQUIRE(got);
      CHECK(got->tick_s == *Rational::make(n, per_second));
      CHECK_FALSE(got->odd);
    }
    per_second *= 1000;
  }
}

TEST_CASE("parse_vcd_timescale: other numbers are exact, and odd") {
  CHECK(parse_vcd_timescale("244ns")->tick_s ==
        *Rational::make(244, 1'000'000'000));
  CHECK(parse_vcd_timescale("244ns")->odd);
  CHECK(parse_vcd_timescale("0.001fs")->tick_s ==
        *Rational::make(1, Int128{1'000'000'000'000'000'000}));
}

TEST_CASE(
    "parse_vcd_timescale: no number, no unit, zero and pairs are refused") {
  for (const char* text : {"", "ns", "1", "0ns", "-1ns", "1NS", "1parsec",
                           "1us/1ns", "1.ns.", "1e400s"}) {
    CAPTURE(text);
    const auto got = parse_vcd_timescale(text);
    REQUIRE_FALSE(got);
    CHECK(got.error().code == ErrorCode::kBadData);
    CHECK(got.error().message ==
          "found timescale \"" + std::string(text) +
              "\", expected 1, 10 or 100 and one of s, ms, us, ns, ps, fs");
    CHECK(got.error().hint == "correct the $timescale");
  }
}

}  // namespace
}  // namespace clockassay
