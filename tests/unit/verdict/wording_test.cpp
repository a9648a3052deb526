// SPDX-License-Identifier: GPL-3.0-or-later
#include "verdict/wording.h"

#include <doctest/doctest.h>

#include <cmath>
#include <limits>

namespace clockassay {
namespace {

TEST_CASE("ppm_text: shows two digits of the uncertainty") {
  CHECK(ppm_text(61.23, 2.1) == "61.2");
  CHECK(ppm_text(2.1, 2.1) == "2.1");
  CHECK(ppm_text(-333333.4, 95.0) == "-333333");
  CHECK(ppm_text(0.123456, 0.0042) == "0.1235");
  CHECK(ppm_text(12.0, 950.0) == "12");
}

TEST_CASE("ppm_text: never writes minus zero, and unknown is unknown") {
  CHECK(ppm_text(-0.01, 2.1) == "0.0");
  CHECK(ppm_text(std::nan(""), 2.1) == "unknown");
  CHECK(ppm_text(12.5, std::numeric_limits<double>::infinity()) == "12.5");
}

TEST_CASE("hertz_text: scales and drops trailing zeros") {
  CHECK(hertz_text(8000160.0) == "8.00016 MHz");
  CHECK(hertz_text(12e6) == "12 MHz");
  CHECK(hertz_text(32768.0) == "32.768 kHz");
  CHECK(hertz_text(1.0) == "1 Hz");
  CHECK(hertz_text(1.5e9) == "1.5 GHz");
}

TEST_CASE("band_text: a symmetric band is plus-minus, another shows both") {
  CHECK(band_text(-30, 30) == "±30 ppm");
  CHECK(band_text(-5300, 300) == "-5300 … +300 ppm");
  CHECK(band_text(0, 300) == "0 … +300 ppm");
  // Worked out: rounded inwards.
  CHECK(band_text(-20.0 / 7, 20.0 / 7) == "±2.85714 ppm");
}

TEST_CASE("fast_or_slow: the sign becomes a word") {
  CHECK(fast_or_slow(61.23, 2.1) == "61.2 ppm fast");
  CHECK(fast_or_slow(-20.0, 2.1) == "20.0 ppm slow");
  CHECK(above_or_below(20.0, 2.1) == "20.0 ppm above");
  CHECK(above_or_below(-20.0, 2.1) == "20.0 ppm below");
  // What rounds to nothing has no side.
  CHECK(fast_or_slow(-0.01, 2.1) == "0.0 ppm off");
  CHECK(above_or_below(0.0, 95.0) == "0 ppm off");
}

TEST_CASE("offset_text: gross offsets are in per cent") {
  CHECK(offset_text(9999.0, 2.1) == "9999.0 ppm");
  CHECK(offset_text(-333320.0, 1.3) == "33.332 %");
  CHECK(offset_text(1e12, 1.3) == "100000000 %");
}

TEST_CASE("coverage_text: is in per cent") {
  CHECK(coverage_text(0.95) == "95 %");
  CHECK(coverage_text(0.9973) == "99.73 %");
}

}  // namespace
}  // namespace clockassay
