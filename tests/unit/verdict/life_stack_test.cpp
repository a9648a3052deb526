// SPDX-License-Identifier: GPL-3.0-or-later
#include "verdict/life_stack.h"

#include <doctest/doctest.h>

#include <cmath>

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
  CHECK(stack->altogether.low.value() == doctest::Approx(-27.9));
  CHECK(stack->altogether.high.value() == doctest::Approx(50.9));
}

TEST_CASE("life_stack: or in squares") {
  const auto stack =
      life_stack(tolerance_of(CombineRule::kRootSumSquare), error_of(0, 2));
  REQUIRE(stack);
  CHECK(stack->moves.low.value() == doctest::Approx(-std::sqrt(925.0)));
  CHECK(stack->moves.high.value() == doctest::Approx(std::sqrt(1000.0)));
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
