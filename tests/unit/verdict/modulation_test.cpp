// SPDX-License-Identifier: GPL-3.0-or-later
#include "verdict/modulation.h"

#include <doctest/doctest.h>

#include <algorithm>

#include "unit/verdict/clock_under_test.h"

namespace clockassay {
namespace {

// 12 MHz within 100 ppm, right on the mean, known to 2 ppm.
ClockEvidence right() {
  ClockEvidence evidence = evidence_of(12e6, 2.0);
  evidence.history.final_frequency = Hertz(12e6);
  evidence.history.final_half_width = Hertz(1.2);  // 0.1 ppm
  return evidence;
}

Verdict judge(const ClockEvidence& evidence,
              std::optional<Rational> settle_within_s = std::nullopt) {
  ClockSpec clock = clock_of("24MHz / 2", "100ppm");
  clock.settle_within_s = settle_within_s;
  return judge_clock(clock, {}, evidence);
}

bool is_modulated(const Verdict& v) {
  return std::any_of(v.warnings.begin(), v.warnings.end(),
                     [](const Warning& w) {
                       return w.code == WarningCode::kFrequencyModulated;
                     });
}

SpreadSpectrum spread_of(double depth_ppm) {
  SpreadSpectrum s;
  s.rate = Hertz(32e3);
  s.rate_uncertainty = Hertz(1.0);
  s.depth = Ppm(depth_ppm);
  s.depth_uncertainty = Ppm(1.0);
  return s;
}

CoursePoint part(double from_s, double to_s, double ppm, double most_off_ppm) {
  return {Seconds(from_s), Seconds(to_s), Hertz(12e6 * (1.0 + ppm * 1e-6)),
          Hertz(12.0 * most_off_ppm)};
}

}  // namespace

TEST_CASE("judge_clock: a spread beyond the limits is no pass of its mean") {
  ClockEvidence evidence = right();
  evidence.spread = spread_of(180.0);  // 90 ppm either way: within
  CHECK(judge(evidence).decision == Decision::kPass);
  evidence.spread = spread_of(220.0);
  const Verdict v = judge(evidence);
  CHECK(v.decision == Decision::kUndecided);
  CHECK(is_modulated(v));
  REQUIRE(!v.causes.empty());
  CHECK(v.causes[0].code == CauseCode::kSpreadSpectrum);
}

TEST_CASE("judge_clock: a part that ran outside the limits is no pass") {
  ClockEvidence evidence = right();
  evidence.history.course = {part(0.0, 0.01, 0.0, 0.1),
                             part(0.004, 0.005, 150.0, 20.0)};
  const Verdict v = judge(evidence);
  CHECK(v.decision == Decision::kUndecided);
  REQUIRE(is_modulated(v));
  CHECK(v.warnings.back().message ==
        "the frequency moves: from 0.004 s to 0.005 s the clock was 150 ppm "
        "fast, outside ±100 ppm (make tolerance, now) for part of the "
        "time; only the mean keeps that");
  // What jitter and sampling may make of it is nothing to go by.
  evidence.history.course[1] = part(0.004, 0.005, 150.0, 50.0);
  CHECK(judge(evidence).decision == Decision::kPass);
}

TEST_CASE("judge_clock: a clock that stays where its mean is does not move") {
  // 105 ppm fast, known to 20 ppm: undecided.
  const double f = 12e6 * (1.0 + 105e-6);
  ClockEvidence evidence = evidence_of(f, 20.0);
  evidence.history.final_frequency = Hertz(f);
  evidence.history.final_half_width = Hertz(0.1);
  evidence.history.course = {part(0.0, 0.01, 105.0, 0.1),
                             part(0.004, 0.005, 105.1, 0.5)};
  const Verdict still = judge(evidence);
  CHECK(still.decision == Decision::kUndecided);
  CHECK_FALSE(is_modulated(still));
  // That the mean keeps the limits would not be true.
  evidence.history.course[1] = part(0.004, 0.005, 150.0, 20.0);
  const Verdict moves = judge(evidence);
  REQUIRE(is_modulated(moves));
  CHECK(moves.warnings.back().message.ends_with("for part of the time"));
}

TEST_CASE("judge_clock: what moves before it has to settle is allowed") {
  ClockEvidence evidence = right();
  evidence.history.course = {part(0.0, 0.01, 0.0, 0.1),
                             part(0.0, 0.001, 150.0, 20.0)};
  CHECK(is_modulated(judge(evidence)));
  CHECK_FALSE(is_modulated(judge(evidence, Rational(1))));
}

}  // namespace clockassay
