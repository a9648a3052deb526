// SPDX-License-Identifier: GPL-3.0-or-later
#include "verdict/advice.h"

#include <doctest/doctest.h>

#include <algorithm>
#include <cmath>
#include <string>

#include "unit/verdict/clock_under_test.h"

namespace clockassay {
namespace {

std::vector<std::string> advice_for(double ppm, double timebase_ppm,
                                    double capture_ppm, double limit) {
  const ClockEvidence evidence =
      evidence_of(12e6 * (1 + ppm * 1e-6), timebase_ppm, capture_ppm);
  return advice_to_decide(measured_error(evidence.budget, 12e6), -limit, limit,
                          evidence);
}

TEST_CASE("sufficient_rectangle: its interval just fits the margin") {
  for (const double sigma : {0.0, 0.1, 1.0, 4.0}) {
    const std::optional<double> a = sufficient_rectangle(sigma, 0.95, 10.0);
    CAPTURE(sigma);
    REQUIRE(a);
    CHECK(expanded_half_width({*a, sigma}, 0.95) ==
          doctest::Approx(10.0).epsilon(1e-9));
  }
}

TEST_CASE("sufficient_rectangle: none where the capture alone is too wide") {
  // 1.96 * 6 = 11.8 > 10.
  CHECK_FALSE(sufficient_rectangle(6.0, 0.95, 10.0));
  CHECK_FALSE(sufficient_rectangle(0.0, 0.95, 0.0));
}

TEST_CASE("advice_to_decide: the timebase, and that nothing else helps") {
  // e = 10, limit 30: margin 20; 0.95 a <= 20 gives 21.05, rounded down 21.
  const std::vector<std::string> advice = advice_for(10, 100, 0.01, 30);
  REQUIRE(advice.size() == 3);
  CHECK(advice[0] ==
        "A timebase known to ±21 ppm would decide it (now ±100 ppm, stated): "
        "U must come down from 95 to 20 ppm.");
  CHECK(advice[1] ==
        "Ways to such a timebase: measure a clock known to ±21 ppm with this "
        "instrument once, warmed up, and state the offset found; or record "
        "such a clock on another channel of the same capture and compare the "
        "two.");
  CHECK(advice[2] ==
        "A longer capture would not help: without the timebase U is 0.010 ppm "
        "already.");
}

TEST_CASE("advice_to_decide: the capture, where it is the limit") {
  // Margin 20, the capture alone leaves 39: 3.9 times the length for 10.
  const std::vector<std::string> advice = advice_for(10, 2, 39, 30);
  REQUIRE(advice.size() == 1);
  CHECK(advice[0] ==
        "Whatever the timebase, a longer capture is needed: sampling and "
        "jitter alone leave 39 ppm; 4 times the length (0.04 s), or a sample "
        "rate as many times higher, takes them to half of the margin.");
}

TEST_CASE("advice_to_decide: where both are the limit, both are named") {
  // Margin 20, the capture's part brought to 10: a timebase between what a
  // plain sum would leave (10) and what no capture at all would (20 / 0.95).
  const std::vector<std::string> advice = advice_for(10, 100, 39, 30);
  REQUIRE(advice.size() == 2);
  CHECK(advice[0].starts_with("Whatever the timebase"));
  const std::optional<double> a =
      sufficient_rectangle(10 / 1.959963984540054, 0.95, 20);
  REQUIRE(a);
  CHECK(*a < 20 / 0.95);
  CHECK(*a > 10);
  CHECK(advice[1].starts_with("With that, a timebase known to ±" +
                              std::to_string(static_cast<int>(*a)) + " ppm"));
}

TEST_CASE("advice_to_decide: what it suggests does decide") {
  for (const double ppm : {-25.0, 0.0, 12.0, 29.0, 35.0}) {
    const ClockEvidence evidence = evidence_of(12e6 * (1 + ppm * 1e-6), 100);
    const MeasuredError error = measured_error(evidence.budget, 12e6);
    REQUIRE(decide(error.ppm, error.expanded_ppm, -30, 30) ==
            Decision::kUndecided);
    const double margin =
        std::min(std::abs(30 - error.ppm), std::abs(error.ppm + 30));
    const std::optional<double> a =
        sufficient_rectangle(error.distribution.normal_sigma, 0.95, margin);
    REQUIRE(a);
    // A tolerance is of the measured frequency, up to 35 ppm from the expected
    // one; the rounding down of what is printed covers that.
    const ClockEvidence better =
        evidence_of(12e6 * (1 + ppm * 1e-6), *a * (1 - 1e-4));
    const MeasuredError again = measured_error(better.budget, 12e6);
    CAPTURE(ppm);
    CHECK(decide(again.ppm, again.expanded_ppm, -30, 30) !=
          Decision::kUndecided);
  }
}

TEST_CASE("advice_to_decide: a clock on its limit is told so") {
  const std::vector<std::string> advice = advice_for(30, 100, 0.01, 30);
  REQUIRE(advice.size() == 1);
  CHECK(advice[0] ==
        "The clock sits on its limit: no better measurement will decide it, "
        "only a clock nearer to nominal.");
}

}  // namespace
}  // namespace clockassay
