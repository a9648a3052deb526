// SPDX-License-Identifier: GPL-3.0-or-later
#include "verdict/life_stack.h"

#include <doctest/doctest.h>

#include <algorithm>
#include <cmath>
#include <string>
#include <string_view>

#include "support/approx.h"
#include "unit/verdict/clock_under_test.h"

namespace clockassay {
namespace {

SourceTolerance tolerance_of(CombineRule rule) {
  SourceTolerance t;
  t.make = band_of("20ppm");
  t.temperature = band_of("30ppm");
  t.ageing = band_of("-5ppm..10ppm");
  t.combine = rule;
  return t;
}

TEST_CASE("life_stack: shares add up from where the clock is now") {
  const auto stack =
      life_stack(tolerance_of(CombineRule::kSum), error_of(9, 2));
  REQUIRE(stack);
  REQUIRE(stack->shares.size() == 3);
  CHECK(stack->shares[0].name == "make tolerance");
  CHECK_FALSE(stack->shares[0].counted);
  CHECK(stack->shares[0].band->high.value() == 20.0);
  CHECK(stack->shares[1].name == "temperature");
  CHECK(stack->shares[1].counted);
  CHECK(stack->shares[2].band->low.value() == -5.0);
  CHECK(stack->moves.low.value() == -35.0);
  CHECK(stack->moves.high.value() == 40.0);
  // 9 - 1.9 - 35 and 9 + 1.9 + 40.
  CHECK(stack->altogether.low.value() == testing::approx(-27.9));
  CHECK(stack->altogether.high.value() == testing::approx(50.9));
}

TEST_CASE("life_stack: or in squares") {
  const auto stack =
      life_stack(tolerance_of(CombineRule::kRootSumSquare), error_of(0, 2));
  REQUIRE(stack);
  CHECK(stack->moves.low.value() == testing::approx(-std::sqrt(925.0)));
  CHECK(stack->moves.high.value() == testing::approx(std::sqrt(1000.0)));
}

TEST_CASE("life_stack: what is not stated is named, not taken for zero") {
  SourceTolerance t = tolerance_of(CombineRule::kSum);
  t.ageing = std::nullopt;
  const auto stack = life_stack(t, error_of(0, 2));
  REQUIRE(stack);
  CHECK_FALSE(stack->shares[2].band);
  CHECK_FALSE(stack->shares[2].counted);
  CHECK(stack->shares[2].why == "not stated, and so not counted");
  t.temperature = std::nullopt;
  CHECK_FALSE(life_stack(t, error_of(0, 2)));
  CHECK_FALSE(
      life_stack(tolerance_of(CombineRule::kSum), error_of(std::nan(""), 2)));
}

TEST_CASE("judge_clock: what over life is not counted is said of no fail") {
  ClockSpec clock = clock_of("12MHz", "20ppm");
  clock.requirements = {requirement_of("an interface", "50ppm")};
  const auto says = [&](double ppm, std::string_view words) {
    const Verdict v =
        judge_clock(clock, {}, evidence_of(12e6 * (1 + ppm * 1e-6), 1.0));
    return std::any_of(
        v.reasons.begin(), v.reasons.end(),
        [&](const std::string& reason) { return reason.starts_with(words); });
  };
  CHECK(says(0, "Over life it is not judged: the tolerance states neither "));
  CHECK_FALSE(says(60, "Over life it is not judged"));
  clock.tolerance.temperature = band_of("20ppm");
  CHECK(says(0, "Ageing is not stated: what is said over life counts none"));
  CHECK_FALSE(says(0, "Over life it is not judged"));
  clock.tolerance.ageing = band_of("5ppm");
  CHECK_FALSE(says(0, "Ageing"));
  clock.tolerance.temperature.reset();
  CHECK(says(0, "Temperature is not stated: what is said over life counts "));
}

TEST_CASE("life_stack: away from 25 degC the width of the band counts") {
  SourceTolerance t = tolerance_of(CombineRule::kSum);
  t.temperature = band_of("-30ppm..20ppm");
  const auto temperature_of = [&] {
    return life_stack(t, error_of(0, 2))->shares[1];
  };
  CHECK(temperature_of().why ==
        "specification, relative to 25 degC; captured_at is not stated, and "
        "the capture taken to be at about that");
  for (const int near : {20, 23, 30}) {
    t.captured_at_c = Rational(near);
    CAPTURE(near);
    CHECK(temperature_of().band->low.value() == -30.0);
    CHECK(temperature_of().band->high.value() == 20.0);
    CHECK(life_caveats(t).empty());  // ageing is stated
  }
  for (const int far : {-40, 19, 31, 80}) {
    t.captured_at_c = Rational(far);
    CAPTURE(far);
    // From one end of [-30, 20] to the other, and 5 and 10 of ageing.
    CHECK(temperature_of().band->low.value() == -50.0);
    CHECK(temperature_of().band->high.value() == 50.0);
    CHECK(life_stack(t, error_of(0, 2))->moves.low.value() == -55.0);
    CHECK(life_stack(t, error_of(0, 2))->moves.high.value() == 60.0);
  }
  CHECK(temperature_of().why ==
        "specification, relative to 25 degC; captured at 80 degC: all the "
        "width of -30 … +20 ppm, either way");
  REQUIRE(life_caveats(t).size() == 1);
  CHECK(life_caveats(t)[0] ==
        "Captured at 80 degC: the band over temperature is relative to 25 "
        "degC, and where in it the clock is now is not known, so that it may "
        "move by ±50 ppm.");
}

TEST_CASE("judge_clock: a clock captured hot may move by twice its band") {
  // +15 ppm at 80 degC, ±30 ppm over temperature, ±50 ppm asked: it may be at
  // -30 of its band now, and come to +75.
  ClockSpec clock = clock_of("12MHz", "20ppm");
  clock.tolerance.temperature = band_of("30ppm");
  clock.requirements = {requirement_of("an interface", "50ppm")};
  const ClockEvidence evidence = evidence_of(12e6 * (1 + 15e-6), 1.0);
  CHECK(judge_clock(clock, {}, evidence).decision == Decision::kPass);
  clock.tolerance.captured_at_c = Rational(80);
  const Verdict verdict = judge_clock(clock, {}, evidence);
  CHECK(verdict.decision == Decision::kUndecided);
  CHECK(verdict.checks.back().check == "life");
  CHECK(*verdict.checks.back().value == testing::approx(75.0));
}

TEST_CASE("life_stack: its ends are what `life` is judged by") {
  ClockSpec clock = clock_of("12MHz", "20ppm");
  clock.tolerance = tolerance_of(CombineRule::kSum);
  for (const double limit : {50.8, 50.899, 50.901, 51.0}) {
    clock.requirements = {requirement_of("an interface", "100ppm")};
    const auto ppb = static_cast<std::int64_t>(std::llround(limit * 1000));
    clock.requirements[0].limits_ppm =
        ToleranceBand{-1000, *Rational::make(ppb, 1000)};
    const MeasuredError error = error_of(9, 2);
    const std::vector<Check> checks = make_checks(clock, error);
    const auto stack = life_stack(clock.tolerance, error);
    REQUIRE(stack);
    CAPTURE(limit);
    CHECK((checks.back().decision == Decision::kPass) ==
          (stack->altogether.high.value() <= *checks.back().high));
  }
}

}  // namespace
}  // namespace clockassay
