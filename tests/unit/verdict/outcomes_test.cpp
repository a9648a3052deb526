// SPDX-License-Identifier: GPL-3.0-or-later
#include "verdict/outcomes.h"

#include <doctest/doctest.h>

#include <algorithm>
#include <random>
#include <string>

#include "unit/verdict/clock_under_test.h"

namespace clockassay {
namespace {

ClockSpec moving_clock(std::string_view temperature) {
  ClockSpec clock = clock_of("24MHz / 2", "30ppm");
  clock.tolerance.temperature = band_of(temperature);
  clock.requirements = {requirement_of("an interface", "50ppm")};
  return clock;
}

Outcomes outcomes_of(const ClockSpec& clock, const MeasuredError& error) {
  return possible_outcomes(make_checks(clock, error), clock, error);
}

TEST_CASE("possible_outcomes: without life a clock passes or fails") {
  const ClockSpec clock = clock_of("24MHz / 2", "30ppm");
  const Outcomes wide = outcomes_of(clock, error_of(3, 100));
  CHECK(wide.pass);
  CHECK(wide.fail);
  CHECK_FALSE(wide.undecided);
  CHECK(outcomes_sentence(wide) == "The verdict can then be pass or fail.");
}

TEST_CASE("possible_outcomes: where bands leave no room nothing passes") {
  // ±60 ppm over temperature, ±50 asked: open whatever is measured.
  const Outcomes outcomes =
      outcomes_of(moving_clock("60ppm"), error_of(3, 100));
  CHECK_FALSE(outcomes.pass);
  CHECK(outcomes.fail);
  CHECK(outcomes.undecided);
  CHECK(outcomes_sentence(outcomes) ==
        "The verdict can then only be fail or undecided, because \"an "
        "interface, over temperature, ageing not stated\" cannot pass.");
}

TEST_CASE("possible_outcomes: where bands leave some room all three may be") {
  const Outcomes outcomes =
      outcomes_of(moving_clock("40ppm"), error_of(3, 100));
  CHECK(outcomes.pass);
  CHECK(outcomes.fail);
  CHECK(outcomes.undecided);
  CHECK(outcomes_sentence(outcomes) ==
        "The verdict can then be pass, fail or undecided, because \"an "
        "interface, over temperature, ageing not stated\" may stay open.");
}

TEST_CASE("possible_outcomes: are those a perfect measurement comes to") {
  constexpr unsigned kSeed = 7;
  INFO("seed ", kSeed);
  std::mt19937_64 random(kSeed);
  std::uniform_real_distribution<double> unit(0.0, 1.0);
  const char* const bands[] = {"10ppm", "40ppm", "60ppm", "-70ppm..5ppm"};
  for (int i = 0; i < 200; ++i) {
    const ClockSpec clock = moving_clock(bands[i % 4]);
    const MeasuredError error =
        error_of(160 * unit(random) - 80, 1 + 80 * unit(random));
    const Outcomes outcomes = outcomes_of(clock, error);
    Outcomes found;
    constexpr int kSteps = 2000;
    for (int k = 0; k <= kSteps; ++k) {
      const double e =
          error.ppm + error.expanded_ppm * (2.0 * k / kSteps - 1.0);
      const Decision d = worst_decision(make_checks(clock, error_of(e, 1e-6)));
      found.pass = found.pass || d == Decision::kPass;
      found.fail = found.fail || d == Decision::kFail;
      found.undecided = found.undecided || d == Decision::kUndecided;
    }
    CAPTURE(i);
    // All that is found may be; what may be is found but for what lies between
    // two steps.
    CHECK((outcomes.pass || !found.pass));
    CHECK((outcomes.fail || !found.fail));
    CHECK((outcomes.undecided || !found.undecided));
    CHECK(outcomes.pass == found.pass);
    CHECK(outcomes.fail == found.fail);
    CHECK(outcomes.undecided == found.undecided);
  }
}

TEST_CASE("judge_clock: advice names its check and what can follow") {
  const Verdict v = judge_clock(moving_clock("60ppm"), {},
                                evidence_of(12e6 * (1 + 3e-6), 100));
  CHECK(v.decision == Decision::kUndecided);
  REQUIRE(v.to_decide);
  CHECK(v.to_decide->check == "make tolerance, now");
  CHECK_FALSE(v.to_decide->can_pass);
  const auto has = [&v](std::string_view part) {
    return std::any_of(v.advice.begin(), v.advice.end(),
                       [part](const std::string& sentence) {
                         return sentence.find(part) != std::string::npos;
                       });
  };
  CHECK(has("would decide \"make tolerance, now\" (now ±100 ppm, stated)"));
  CHECK(has("The verdict can then only be fail or undecided, because"));
}

}  // namespace
}  // namespace clockassay
