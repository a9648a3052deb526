// SPDX-License-Identifier: GPL-3.0-or-later
#include "verdict/advice.h"

#include <doctest/doctest.h>

#include <algorithm>
#include <cmath>
#include <random>
#include <string>

#include "support/approx.h"
#include "unit/verdict/clock_under_test.h"

namespace clockassay {
namespace {

constexpr const char* kIfAsNow =
    "These figures do for a clock that is off by what it seems to be now: U is "
    "then half of what lies between it and its limit. One that turns out "
    "nearer to its limit may stay undecided.";

ToDecide numbers_for(const ClockEvidence& evidence, double limit) {
  return numbers_to_decide(measured_error(evidence.budget, 12e6), -limit, limit,
                           evidence);
}

std::vector<std::string> advice_for(const ClockEvidence& evidence,
                                    double limit) {
  return advice_to_decide(measured_error(evidence.budget, 12e6),
                          numbers_for(evidence, limit), evidence);
}

std::vector<std::string> advice_for(double ppm, double timebase_ppm,
                                    double capture_ppm, double limit) {
  return advice_for(
      evidence_of(12e6 * (1 + ppm * 1e-6), timebase_ppm, capture_ppm), limit);
}

TEST_CASE("sufficient_rectangle: its interval just fits the margin") {
  for (const double sigma : {0.0, 0.1, 1.0, 4.0}) {
    const std::optional<double> a = sufficient_rectangle(sigma, 0.95, 10.0);
    CAPTURE(sigma);
    REQUIRE(a);
    CHECK(expanded_half_width({*a, sigma}, 0.95) ==
          testing::approx(10.0).epsilon(1e-9));
  }
}

TEST_CASE("sufficient_rectangle: none where the capture alone is too wide") {
  // 1.96 * 6 = 11.8 > 10.
  CHECK_FALSE(sufficient_rectangle(6.0, 0.95, 10.0));
  CHECK_FALSE(sufficient_rectangle(0.0, 0.95, 0.0));
}

TEST_CASE("sufficient_normal: its interval just fits the margin") {
  for (const double a : {0.0, 1.0, 5.0, 10.0}) {
    const std::optional<double> sigma = sufficient_normal(a, 0.95, 10.0);
    CAPTURE(a);
    REQUIRE(sigma);
    CHECK(expanded_half_width({a, *sigma}, 0.95) ==
          testing::approx(10.0).epsilon(1e-9));
  }
  // 0.95 * 11 > 10.
  CHECK_FALSE(sufficient_normal(11.0, 0.95, 10.0));
  CHECK_FALSE(sufficient_normal(0.0, 0.95, 0.0));
}

TEST_CASE(
    "advice_to_decide: the timebase, the ways to it, and what is no way") {
  // e = 10, limit 30: margin 20, half of it 10; 0.95 a <= 10 gives 10.5,
  // rounded down 10. To measure it before takes a clock known better by 1 ppm
  // and U: 9.51.
  const std::vector<std::string> advice = advice_for(10, 100, 0.01, 30);
  REQUIRE(advice.size() == 4);
  CHECK(advice[0] ==
        "A timebase known to ±10 ppm would decide it (now ±100 ppm, stated): "
        "U must come down from 95 to 10 ppm.");
  CHECK(advice[1] ==
        "Ways to such a timebase: measure a clock known to ±9.5 ppm with this "
        "instrument once, warmed up, and state the offset found, ±10 ppm "
        "(--timebase); or record a clock known to ±10 ppm on another channel "
        "of the same capture (--reference).");
  CHECK(advice[2] ==
        "A longer capture alone would not decide it: without the timebase U is "
        "0.010 ppm already.");
  CHECK(advice[3] == kIfAsNow);
}

TEST_CASE("advice_to_decide: an instrument moves by more than a small margin") {
  // Margin 0.5, half of it: 0.26 ppm, and between two captures it moves by 1
  // ppm.
  const std::vector<std::string> advice = advice_for(29.5, 2, 0.01, 30);
  CHECK(
      advice[1] ==
      "A way to such a timebase: record a clock known to ±0.26 ppm on another "
      "channel of the same capture (--reference); an offset measured before "
      "moves by more.");
}

TEST_CASE("advice_to_decide: a better reference where there is one") {
  ClockEvidence evidence = evidence_of(12e6 * (1 + 10e-6), 100, 0.01);
  evidence.timebase.kind = TimebaseKind::kReference;
  const std::vector<std::string> advice = advice_for(evidence, 30);
  CHECK(advice[0].starts_with("A reference known to ±10 ppm would decide it"));
  CHECK(advice[1].starts_with("A longer capture alone"));
}

TEST_CASE("advice_to_decide: the capture, where it is the limit") {
  // Margin 20, a timebase of 2 ppm, the capture alone leaves 39: it has to come
  // down to what leaves 10 with the timebase.
  ClockEvidence evidence = evidence_of(12e6 * (1 + 10e-6), 2, 39);
  const double z = 1.959963984540054;
  const std::optional<double> sigma = sufficient_normal(2, 0.95, 10);
  REQUIRE(sigma);
  const ToDecide numbers = numbers_for(evidence, 30);
  REQUIRE(numbers.duration);
  // 10 ms now; two digits, rounded up.
  const double exact = 0.01 * 39 / (z * *sigma);
  CHECK(numbers.duration->value() >= exact);
  CHECK(numbers.duration->value() <= exact * 1.1);
  CHECK(numbers.capture_alone);
  CHECK_FALSE(numbers.sample_rate);  // nothing is known of the sampling
  const std::vector<std::string> advice = advice_for(evidence, 30);
  REQUIRE(advice.size() == 2);
  CHECK(advice[0] ==
        "With the timebase as it is, a capture of 0.041 s would decide it: "
        "sampling and jitter leave 39 ppm now.");
  CHECK(advice[1] == kIfAsNow);
  // With the sampling known and hardly any jitter: a faster sampler as well. A
  // sample interval at each end over the length is the most it leaves.
  evidence.sample_interval = Seconds(1e-8);
  evidence.jitter = Jitter{};
  evidence.jitter->cycles = 120000;
  evidence.jitter->upper_limit = Seconds(1e-10);
  const ToDecide known = numbers_for(evidence, 30);
  REQUIRE(known.sample_rate);
  CHECK(known.sample_rate->value() >= 1e8 * 39 / (z * *sigma));
  CHECK(2e6 / known.sample_rate->value() / 0.01 <= z * *sigma);
  // Jitter is no matter of the sampler: 12 us over 10 ms and 120000 edges make
  // 24 ppm by themselves.
  evidence.jitter->upper_limit = Seconds(12e-6);
  CHECK_FALSE(numbers_for(evidence, 30).sample_rate);
  // And where the frequency itself moves, no length is promised.
  evidence.warnings = {{WarningCode::kWander, "it wanders"}};
  CHECK_FALSE(numbers_for(evidence, 30).duration);
  CHECK(advice_for(evidence, 30)[0] ==
        "A longer capture need not help: the frequency itself wanders.");
}

TEST_CASE("advice_to_decide: where both are the limit, both are named") {
  // Margin 20, half of it 10, the capture's part brought to 5: a timebase
  // between what a plain sum would leave (5) and what no capture at all would
  // (10 / 0.95).
  const std::vector<std::string> advice = advice_for(10, 100, 39, 30);
  REQUIRE(advice.size() == 4);
  CHECK(advice[0] ==
        "Whatever the timebase, it takes a capture of 0.079 s: sampling and "
        "jitter leave 39 ppm now.");
  const std::optional<double> a =
      sufficient_rectangle(5 / 1.959963984540054, 0.95, 10);
  REQUIRE(a);
  CHECK(*a < 10 / 0.95);
  CHECK(*a > 5);
  CHECK(advice[1].starts_with("With that, a timebase known to ±" +
                              std::to_string(static_cast<int>(*a))));
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

TEST_CASE("advice_to_decide: a clock on its limit to what can be measured") {
  // U is 0.014 ppm, a twentieth of it 0.7 ppb.
  const std::vector<std::string> advice = advice_for(30, 0.01, 0.01, 30);
  REQUIRE(advice.size() == 1);
  CHECK(advice[0] ==
        "The clock sits on its limit, to 1 ppb and less: no better measurement "
        "will decide it, only a clock nearer to nominal.");
}

TEST_CASE("advice_to_decide: a wide U does not show a clock on its limit") {
  // Where within 95 ppm of its limit it lies a better timebase shows: a
  // twentieth of U is 4.75, 0.95 a = 4.75 makes 5.
  const std::vector<std::string> advice = advice_for(30, 100, 0.01, 30);
  REQUIRE(advice.size() == 4);
  CHECK(advice[0].starts_with("A timebase known to ±5 ppm would decide"));
  CHECK(advice[3] ==
        "The clock seems to sit on its limit, and U leaves open on which side: "
        "with these figures more than nine in ten such clocks are decided.");
  for (const std::string& sentence : advice) {
    CHECK(sentence.find("no better measurement") == std::string::npos);
  }
}

TEST_CASE("advice_to_decide: a small margin alone puts no clock on its limit") {
  // 1.5 ppb seem to be left, and U is 0.1 ppm: it may be anywhere in that.
  const ToDecide numbers =
      numbers_for(evidence_of(12e6 * (1 + 29.9985e-6), 0.1, 0.01), 30);
  CHECK_FALSE(numbers.on_limit);
  CHECK(numbers.timebase);
}

TEST_CASE("advice_to_decide: of clocks on their limit most are decided") {
  constexpr unsigned kSeed = 30;
  INFO("seed ", kSeed);
  std::mt19937_64 random(kSeed);
  std::uniform_real_distribution<double> within(-1.0, 1.0);
  // Seems to be at its limit, is anywhere within the timebase's ±100 ppm, and
  // is then measured with the timebase that is advised.
  const ToDecide numbers =
      numbers_for(evidence_of(12e6 * (1 + 30e-6), 100, 0.01), 30);
  REQUIRE(numbers.timebase);
  const double a = numbers.timebase->value();
  constexpr int kClocks = 4000;
  int decided = 0;
  for (int i = 0; i < kClocks; ++i) {
    const double seen = 30 + 100 * within(random) + a * within(random);
    const MeasuredError error = error_of(seen, a);
    decided +=
        decide(error.ppm, error.expanded_ppm, -1e4, 30) != Decision::kUndecided
            ? 1
            : 0;
  }
  // The claim, less three sigma of a binomial share at it.
  CHECK(decided > kClocks * 0.9 - 3 * std::sqrt(kClocks * 0.9 * 0.1));
}

}  // namespace
}  // namespace clockassay
