// SPDX-License-Identifier: GPL-3.0-or-later
#include "verdict/pin_checks.h"

#include <doctest/doctest.h>

#include <algorithm>
#include <string_view>

#include "unit/verdict/clock_under_test.h"
#include "verdict/requirement_reader.h"

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

/// A pin of 25 MHz as expected whose duty is `duty` +- 0.02.
ClockEvidence with_duty_of(double duty) {
  ClockEvidence evidence = evidence_of(25e6, 2.0);
  evidence.duty = DutyEstimate{duty, 0.01};
  return evidence;
}

ClockSpec asks(std::string_view expect, std::string_view requirement) {
  ClockSpec clock = clock_of(expect, "50ppm");
  const Result<RequirementAsked> asked = read_requirement_option(requirement);
  REQUIRE(asked);
  clock.requirements = {*asked};
  return clock;
}

bool says(const Verdict& verdict, std::string_view words) {
  return std::any_of(verdict.reasons.begin(), verdict.reasons.end(),
                     [&](const std::string& reason) {
                       return reason.find(words) != std::string::npos;
                     });
}

}  // namespace

TEST_CASE("judge_clock: a requirement's duty is judged at its own pin") {
  // 35 to 65 % are asked of 25 MHz; its frequency passes.
  const ClockSpec clock = asks("25MHz", "mii-txclk-100");
  CHECK(judge_clock(clock, {}, with_duty_of(0.5)).decision == Decision::kPass);
  ClockEvidence evidence = with_duty_of(0.2);
  const Verdict open = judge_clock(clock, {}, evidence);
  CHECK(open.decision == Decision::kUndecided);
  CHECK(says(open, "MII TX_CLK, 100 Mb/s, high time over period: 20 % high"));
  evidence.skew_stated = true;
  const Verdict bad = judge_clock(clock, {}, evidence);
  CHECK(bad.decision == Decision::kFail);
  const auto check =
      std::find_if(bad.checks.begin(), bad.checks.end(), is_of_pin);
  REQUIRE(check != bad.checks.end());
  CHECK(check->check == "duty");
  CHECK(check->requirement == 0u);
  CHECK(check->requirement_id == "mii-txclk-100");
  CHECK(check->low == 0.35);
  CHECK(check->high == 0.65);
  // Across a limit, and where the capture has no duty at all.
  CHECK(judge_clock(clock, {}, with_duty_of(0.36)).decision ==
        Decision::kUndecided);
  evidence.duty.reset();
  CHECK(judge_clock(clock, {}, evidence).decision == Decision::kUndecided);
}

TEST_CASE("judge_clock: along a path a duty is not judged, and that is said") {
  ClockEvidence evidence = evidence_of(12.5e6, 2.0);
  evidence.duty = DutyEstimate{0.2, 0.01};
  evidence.skew_stated = true;
  const Verdict verdict =
      judge_clock(asks("25MHz / 2", "mii-txclk-100"), {}, evidence);
  CHECK(verdict.decision == Decision::kPass);
  CHECK(says(verdict,
             "MII TX_CLK, 100 Mb/s: its limits of the duty, 35 % to 65 %, are "
             "not judged here: they are of a pin of 25 MHz, and a duty does "
             "not carry along a clock path."));
  // The same frequency by another path is the clock itself.
  evidence = with_duty_of(0.2);
  CHECK(
      judge_clock(asks("50MHz / 2", "mii-txclk-100"), {}, evidence).decision ==
      Decision::kUndecided);
}

TEST_CASE("judge_clock: a duty known from memory decides nothing") {
  ClockEvidence evidence = evidence_of(125e6, 2.0);
  evidence.duty = DutyEstimate{0.2, 0.001};
  evidence.skew_stated = true;
  const Verdict verdict =
      judge_clock(asks("125MHz", "gmii-gtxclk"), {}, evidence);
  CHECK(verdict.decision == Decision::kPass);
  CHECK(says(verdict, "fail, advisory only."));
}

TEST_CASE("judge_clock: a requirement may limit the duty alone") {
  const ClockSpec clock = asks("25MHz", "rgmii-100-duty");  // 40 to 60 %
  CHECK(judge_clock(clock, {}, with_duty_of(0.5)).decision == Decision::kPass);
  CHECK(judge_clock(clock, {}, with_duty_of(0.38)).decision ==
        Decision::kUndecided);
  // It asks for no ppm: over life there is no limit.
  ClockSpec ages = clock;
  ages.tolerance.ageing = band_of("5ppm");
  const Verdict verdict = judge_clock(ages, {}, with_duty_of(0.5));
  CHECK(verdict.decision == Decision::kPass);
  REQUIRE(verdict.checks.size() == 3);
  CHECK(verdict.checks[1].check == "life");
  CHECK(verdict.checks[1].advisory);
}

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
