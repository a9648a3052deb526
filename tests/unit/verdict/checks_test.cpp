// SPDX-License-Identifier: GPL-3.0-or-later
#include "verdict/checks.h"

#include <doctest/doctest.h>

#include <cmath>
#include <limits>

#include "support/approx.h"
#include "unit/verdict/clock_under_test.h"

namespace clockassay {
namespace {

TEST_CASE("measured_error: U is of the expected frequency, not the measured") {
  // 8 MHz where 12 MHz are expected: -333333 ppm; U of 0.95 * 3 ppm of 8 MHz
  // is two thirds of that of 12 MHz (the capture's 1e-6 ppm are nothing).
  const ClockEvidence evidence = evidence_of(8e6, 3.0, 1e-6);
  const MeasuredError error = measured_error(evidence.budget, 12e6);
  CHECK(error.ppm == testing::approx(-1e6 / 3).epsilon(1e-12));
  CHECK(error.expanded_ppm ==
        testing::approx(0.95 * 3.0 * 2 / 3).epsilon(1e-9));
  CHECK(expanded_half_width(error.distribution, 0.95) ==
        testing::approx(error.expanded_ppm).epsilon(1e-12));
}

TEST_CASE("life_band: adds, or adds in squares") {
  SourceTolerance t;
  CHECK_FALSE(life_band(t));
  t.temperature = band_of("30ppm");
  t.ageing = band_of("-1ppm..5ppm");
  REQUIRE(life_band(t));
  CHECK(life_band(t)->low == -31.0);
  CHECK(life_band(t)->high == 35.0);
  t.temperature = band_of("-3ppm..12ppm");
  t.ageing = band_of("-4ppm..5ppm");
  t.combine = CombineRule::kRootSumSquare;
  CHECK(life_band(t)->low == -5.0);
  CHECK(life_band(t)->high == 13.0);
}

TEST_CASE("life_band: the clock may also stay where it is") {
  SourceTolerance t;
  t.ageing = band_of("5ppm..10ppm");
  REQUIRE(life_band(t));
  CHECK(life_band(t)->low == 0.0);
  CHECK(life_band(t)->high == 10.0);
}

TEST_CASE("make_checks: the make tolerance is judged now") {
  const std::vector<Check> checks =
      make_checks(clock_of("12MHz", "20ppm"), error_of(10, 5));
  REQUIRE(checks.size() == 1);
  CHECK(checks[0].check == "tolerance");
  CHECK(checks[0].decision == Decision::kPass);
  CHECK(*checks[0].value == 10.0);
  CHECK(*checks[0].expanded_uncertainty == testing::approx(4.75));
  CHECK(*checks[0].low == -20.0);
  CHECK(*checks[0].high == 20.0);
  CHECK(checks[0].unit == "ppm");
  CHECK(*checks[0].probability_of_conformity == 1.0);
}

TEST_CASE("make_checks: the probability is of the distribution U is of") {
  // e = 20, a = 25, limits +-30: 35 of 50 inside.
  const std::vector<Check> checks =
      make_checks(clock_of("12MHz", "30ppm"), error_of(20, 25));
  CHECK(checks[0].decision == Decision::kUndecided);
  CHECK(*checks[0].probability_of_conformity ==
        testing::approx(0.7).epsilon(1e-12));
}

// e ppm with a normal part alone; U as reports of calibrations have it, 2 u.
MeasuredError normal_error_of(double ppm, double u) {
  MeasuredError error;
  error.ppm = ppm;
  error.distribution = {0.0, u};
  error.expanded_ppm = 2.0 * u;
  error.coverage = 0.9545;
  return error;
}

TEST_CASE("make_checks: the specific risk at the acceptance limit") {
  // ILAC-G8:09/2019, Table 1: with a guard band of U = 2 u, the risk of a value
  // on the acceptance limit is below 2.5 %; exactly it is the normal tail
  // beyond 2, 2.2750132 %. The other limit is 40 u away.
  const ClockSpec clock = clock_of("12MHz", "20ppm");
  const std::vector<Check> pass =
      make_checks(clock, normal_error_of(18 - 1e-9, 1));
  REQUIRE(pass[0].decision == Decision::kPass);
  REQUIRE(pass[0].specific_risk);
  CHECK(*pass[0].specific_risk == testing::approx(0.022750132).epsilon(1e-7));
  // And as much on the other side, of a fail: that it conforms all the same.
  const std::vector<Check> fail =
      make_checks(clock, normal_error_of(22 + 1e-9, 1));
  REQUIRE(fail[0].decision == Decision::kFail);
  CHECK(*fail[0].specific_risk == testing::approx(0.022750132).epsilon(1e-7));
  // Where nothing is decided, nothing is risked.
  CHECK_FALSE(make_checks(clock, normal_error_of(20, 1))[0].specific_risk);
}

TEST_CASE("make_checks: a band of 2 U risks 1 - P, of a fail half") {
  // U = 2 (95.45 % of a normal, by its definition): a clock in the middle of
  // +-2.001 passes, and lies outside on either side with 2.275 % each; any
  // table of the normal distribution has P(X > 2) = 0.022 75.
  const ClockSpec narrow = clock_of("12MHz", "2.001ppm");
  const std::vector<Check> checks = make_checks(narrow, normal_error_of(0, 1));
  REQUIRE(checks[0].decision == Decision::kPass);
  CHECK(*checks[0].specific_risk == testing::approx(0.0455).epsilon(0.005));
  // A fail's limits lie on one side of it.
  const std::vector<Check> beyond =
      make_checks(narrow, normal_error_of(4.001 + 1e-9, 1));
  REQUIRE(beyond[0].decision == Decision::kFail);
  CHECK(*beyond[0].specific_risk == testing::approx(0.02275).epsilon(0.005));
}

TEST_CASE("make_checks: life is without limits when nothing is asked") {
  ClockSpec clock = clock_of("12MHz", "20ppm");
  clock.tolerance.temperature = band_of("30ppm");
  clock.tolerance.ageing = band_of("5ppm");
  const std::vector<Check> checks = make_checks(clock, error_of(-10, 5));
  REQUIRE(checks.size() == 2);
  CHECK(checks[1].check == "life");
  CHECK(checks[1].advisory);
  CHECK(*checks[1].value == -45.0);  // -10 - 30 - 5, farther than +25
  CHECK_FALSE(checks[1].low);
  CHECK_FALSE(checks[1].high);
  CHECK_FALSE(checks[1].probability_of_conformity);
  // And so it takes no part.
  CHECK(worst_decision(checks) == Decision::kPass);
}

TEST_CASE("make_checks: life is judged at its worse end") {
  ClockSpec clock = clock_of("12MHz", "20ppm");
  clock.tolerance.temperature = band_of("30ppm");
  clock.requirements = {requirement_of("an interface", "50ppm")};
  // +10 and +30 make +40; U = 0.95 a is 9.5: 49.5 holds, 10.45 does not.
  std::vector<Check> checks = make_checks(clock, error_of(10, 10));
  REQUIRE(checks.size() == 3);
  CHECK(checks[0].requirement_id.empty());
  CHECK(checks[1].check == "requirement");
  CHECK(checks[1].requirement_id == "an-id");
  CHECK(checks[1].decision == Decision::kPass);
  CHECK(checks[2].check == "life");
  CHECK(checks[2].requirement_id == "an-id");
  CHECK(checks[2].subject ==
        "an interface, over temperature, ageing not stated");
  CHECK(*checks[2].value == 40.0);
  CHECK(checks[2].decision == Decision::kPass);
  CHECK(*checks[2].probability_of_conformity == 1.0);
  checks = make_checks(clock, error_of(10, 11));
  CHECK(checks[2].decision == Decision::kUndecided);
  // Inside as long as the error is below +20 and above -20: of 9 .. 21 ...
  // the share below 20 of a rectangle from -1 to 21: 21 of 22.
  CHECK(*checks[2].probability_of_conformity ==
        testing::approx(21.0 / 22).epsilon(1e-12));
}

TEST_CASE("make_checks: life fails only where the present fails already") {
  ClockSpec clock = clock_of("12MHz", "20ppm");
  clock.tolerance.temperature = band_of("60ppm");
  clock.requirements = {requirement_of("an interface", "50ppm")};
  // The band alone spans more than the limits: never a pass, no proof either.
  CHECK(make_checks(clock, error_of(0, 1))[2].decision == Decision::kUndecided);
  CHECK(*make_checks(clock, error_of(0, 1))[2].probability_of_conformity ==
        0.0);
  CHECK(make_checks(clock, error_of(60, 1))[2].decision == Decision::kFail);
}

TEST_CASE("make_checks: asymmetric limits count from the side that is near") {
  ClockSpec clock = clock_of("100MHz", "300ppm");
  clock.tolerance.temperature = band_of("50ppm");
  clock.requirements = {requirement_of("spread spectrum", "-5300ppm..300ppm")};
  // Room 90 above, far more below: the upper end is the worse one.
  const std::vector<Check> checks = make_checks(clock, error_of(160, 1));
  CHECK(*checks[2].value == 210.0);
  CHECK(checks[2].decision == Decision::kPass);
}

TEST_CASE("worst_decision: an advisory check never decides") {
  ClockSpec clock = clock_of("12MHz", "200ppm");
  clock.requirements = {requirement_of("from memory", "50ppm", false)};
  const std::vector<Check> checks = make_checks(clock, error_of(100, 1));
  CHECK(checks[1].decision == Decision::kFail);
  CHECK(checks[1].advisory);
  CHECK(worst_decision(checks) == Decision::kPass);
}

TEST_CASE("worst_decision: fail before undecided before pass") {
  ClockSpec clock = clock_of("12MHz", "200ppm");
  clock.requirements = {requirement_of("wide", "101ppm"),
                        requirement_of("narrow", "50ppm")};
  std::vector<Check> checks = make_checks(clock, error_of(100, 5));
  CHECK(checks[0].decision == Decision::kPass);
  CHECK(checks[1].decision == Decision::kUndecided);
  CHECK(checks[2].decision == Decision::kFail);
  CHECK(worst_decision(checks) == Decision::kFail);
  checks.pop_back();
  CHECK(worst_decision(checks) == Decision::kUndecided);
}

TEST_CASE("worst_decision: without a check nothing is decided") {
  CHECK(worst_decision({}) == Decision::kUndecided);
}

TEST_CASE("make_checks: numbers that are none stay absent and undecided") {
  MeasuredError error = error_of(1, 1);
  error.expanded_ppm = std::numeric_limits<double>::infinity();
  for (const Check& check : make_checks(clock_of("12MHz", "20ppm"), error)) {
    CHECK(check.decision == Decision::kUndecided);
    CHECK_FALSE(check.value);
    CHECK_FALSE(check.probability_of_conformity);
  }
}

}  // namespace
}  // namespace clockassay
