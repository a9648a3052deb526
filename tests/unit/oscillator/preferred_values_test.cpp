// SPDX-License-Identifier: GPL-3.0-or-later
#include "clockassay/oscillator/preferred_values.h"

#include <doctest/doctest.h>

#include <cmath>
#include <cstddef>
#include <cstdlib>
#include <string>

namespace clockassay {
namespace {

TEST_CASE("preferred_values: a decade of E12 and of E24") {
  // IEC 60063, as commonly printed: E24 is 10 to the n/24 rounded, but for
  // eight values from 2.7 to 4.7 and 8.2, which history kept.
  CHECK(e_series_decade(ESeries::kE12).size() == 12);
  CHECK(e_series_decade(ESeries::kE24).size() == 24);
  int kept = 0;
  for (std::size_t n = 0; n < 24; ++n) {
    const int value = e_series_decade(ESeries::kE24)[n];
    const int rounded = static_cast<int>(
        std::lround(10.0 * std::pow(10.0, static_cast<double>(n) / 24.0)));
    CAPTURE(value);
    CHECK(std::abs(value - rounded) <= 1);
    kept += value != rounded;
    // Every second one is E12.
    if (n % 2 == 0) CHECK(e_series_decade(ESeries::kE12)[n / 2] == value);
  }
  CHECK(kept == 8);
  CHECK(std::string(e_series_name(ESeries::kE12)) == "E12");
  CHECK(std::string(e_series_name(ESeries::kE24)) == "E24");
  // Both ends count, and a value is the double it is written as.
  const auto some =
      preferred_values(ESeries::kE12, Farads(8.2e-12), Farads(15e-12));
  REQUIRE(some.size() == 4);
  CHECK(some[0] == Farads(8.2e-12));
  CHECK(some[1] == Farads(10e-12));
  CHECK(some[2] == Farads(12e-12));
  CHECK(some[3] == Farads(15e-12));
  CHECK(
      preferred_values(ESeries::kE24, Farads(22e-12), Farads(22e-12)).size() ==
      1);
  CHECK(
      preferred_values(ESeries::kE24, Farads(21e-12), Farads(21e-12)).empty());
}

}  // namespace
}  // namespace clockassay
