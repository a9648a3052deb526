// SPDX-License-Identifier: GPL-3.0-or-later
#include "verdict/pin_checks.h"

#include <doctest/doctest.h>

#include "unit/verdict/clock_under_test.h"

namespace clockassay {
namespace {

ClockSpec with_duty(double low, double high) {
  ClockSpec clock = clock_of("24MHz / 2", "30ppm");
  clock.duty = DutyBand{low, high};
  return clock;
}

Check duty_check(const ClockSpec& clock, const ClockEvidence& evidence) {
  const auto checks = pin_checks(clock, evidence);
  REQUIRE(checks.size() == 1);
  CHECK(checks[0].check == "duty");
  return checks[0];
}

/// 300 ps at most.
Check jitter_check(const ClockEvidence& evidence) {
  ClockSpec clock = clock_of("24MHz / 2", "30ppm");
  clock.period_jitter_s = *Rational::make(300, 1'000'000'000'000);
  const auto checks = pin_checks(clock, evidence);
  REQUIRE(checks.size() == 1);
  CHECK(checks[0].check == "period_jitter");
  return checks[0];
}

ClockEvidence seen_jitter(double seen_s, double window_s) {
  ClockEvidence evidence = evidence_of(12e6, 2.0);
  evidence.jitter = Jitter{};
  evidence.jitter->period_rms = Seconds(seen_s);
  evidence.jitter->cycles = 100'000'001;  // leaves a millionth open
  evidence.window = Seconds(window_s);
  return evidence;
}

}  // namespace

TEST_CASE("pin_checks: none where nothing is stated") {
  CHECK(pin_checks(clock_of("24MHz / 2", "30ppm"), evidence_of(12e6, 2.0))
            .empty());
}

TEST_CASE("pin_checks: a duty within, across and beyond its limits") {
  // U = 1.96 u: 0.5 +- 0.0196 lies within 0.45 to 0.55, 0.54 does not.
  const ClockSpec clock = with_duty(0.45, 0.55);
  ClockEvidence evidence = evidence_of(12e6, 2.0);
  evidence.duty = DutyEstimate{0.5, 0.01};
  CHECK(duty_check(clock, evidence).decision == Decision::kPass);
  evidence.duty = DutyEstimate{0.54, 0.01};
  CHECK(duty_check(clock, evidence).decision == Decision::kUndecided);
  evidence.duty = DutyEstimate{0.6, 0.01};
  // The input may delay one kind of edges, unless it is stated by how much.
  CHECK(duty_check(clock, evidence).decision == Decision::kUndecided);
  evidence.skew_stated = true;
  CHECK(duty_check(clock, evidence).decision == Decision::kFail);
  evidence.duty.reset();
  CHECK(duty_check(clock, evidence).decision == Decision::kUndecided);
}

TEST_CASE("pin_checks: 1.96 standard uncertainties decide at 95 %") {
  const ClockSpec clock = with_duty(0.45, 0.55);
  ClockEvidence evidence = evidence_of(12e6, 2.0);
  // 1.959 964 of any table of the normal distribution.
  evidence.duty = DutyEstimate{0.5, 0.05 / 1.9598};
  CHECK(duty_check(clock, evidence).decision == Decision::kUndecided);
  evidence.duty = DutyEstimate{0.5, 0.05 / 1.9601};
  CHECK(duty_check(clock, evidence).decision == Decision::kPass);
}

TEST_CASE("pin_checks: jitter passes with all that sampling may hide") {
  // 200 ps seen through a window of 190 ps: 295 ps at most; of 210 ps: 305 ps.
  CHECK(jitter_check(seen_jitter(200e-12, 190e-12)).decision ==
        Decision::kPass);
  CHECK(jitter_check(seen_jitter(200e-12, 210e-12)).decision ==
        Decision::kUndecided);
  // Of 10 ns, where the edges' own jitter is known to be no more than 149 ps.
  ClockEvidence fine = seen_jitter(4e-9, 10e-9);
  fine.jitter->upper_limit = Seconds(149e-12);
  CHECK(jitter_check(fine).decision == Decision::kPass);
  fine.jitter->upper_limit = Seconds(151e-12);
  CHECK(jitter_check(fine).decision == Decision::kUndecided);
}

TEST_CASE("pin_checks: jitter fails only where the input's is stated") {
  // 500 ps less half of 100 ps and twice 70 ps leave 310 ps, of 80 ps 290 ps.
  ClockEvidence evidence = seen_jitter(500e-12, 100e-12);
  CHECK(jitter_check(evidence).decision == Decision::kUndecided);
  evidence.input_jitter_rms = Seconds(70e-12);
  CHECK(jitter_check(evidence).decision == Decision::kFail);
  evidence.input_jitter_rms = Seconds(80e-12);
  CHECK(jitter_check(evidence).decision == Decision::kUndecided);
}

TEST_CASE("pin_checks: few periods leave more open") {
  // k 200 ps sqrt(1.5 / 2 / 9) = 113 ps and half of 10 ps: beyond 300 ps.
  ClockEvidence evidence = seen_jitter(200e-12, 10e-12);
  CHECK(jitter_check(evidence).decision == Decision::kPass);
  evidence.jitter->cycles = 10;
  CHECK(jitter_check(evidence).decision == Decision::kUndecided);
}

TEST_CASE("judge_clock: the pin's checks decide with the others") {
  ClockSpec clock = with_duty(0.45, 0.55);
  ClockEvidence evidence = evidence_of(12e6, 2.0);
  evidence.duty = DutyEstimate{0.5, 0.001};
  const Verdict good = judge_clock(clock, {}, evidence);
  CHECK(good.decision == Decision::kPass);
  evidence.duty = DutyEstimate{0.7, 0.001};
  CHECK(judge_clock(clock, {}, evidence).decision == Decision::kUndecided);
  evidence.skew_stated = true;
  const Verdict bad = judge_clock(clock, {}, evidence);
  CHECK(bad.decision == Decision::kFail);
  CHECK(bad.reasons.back().starts_with("Duty: 70 % high"));
}

}  // namespace clockassay
