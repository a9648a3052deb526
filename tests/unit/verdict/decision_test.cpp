// SPDX-License-Identifier: GPL-3.0-or-later
#include <doctest/doctest.h>

#include <cmath>
#include <limits>
#include <random>
#include <string>

#include "clockassay/verdict/verdict.h"

namespace clockassay {
namespace {

constexpr double kInfinity = std::numeric_limits<double>::infinity();

TEST_CASE("decide: has the three zones of ISO 14253-1, to their boundaries") {
  // T = 20, U = 5: proven inside up to 15, proven outside from above 25.
  // Derived from the rule |y| + U <= T and |y| - U > T.
  for (const double side : {1.0, -1.0}) {
    CAPTURE(side);
    CHECK(decide(side * 0.0, 5, -20, 20) == Decision::kPass);
    CHECK(decide(side * 15.0, 5, -20, 20) == Decision::kPass);
    CHECK(decide(side * 15.0001, 5, -20, 20) == Decision::kUndecided);
    CHECK(decide(side * 20.0, 5, -20, 20) == Decision::kUndecided);
    CHECK(decide(side * 25.0, 5, -20, 20) == Decision::kUndecided);
    CHECK(decide(side * 25.0001, 5, -20, 20) == Decision::kFail);
  }
}

TEST_CASE("decide: limits may be asymmetric") {
  CHECK(decide(-5000, 10, -5300, 300) == Decision::kPass);
  CHECK(decide(295, 10, -5300, 300) == Decision::kUndecided);
  CHECK(decide(311, 10, -5300, 300) == Decision::kFail);
  CHECK(decide(-5311, 10, -5300, 300) == Decision::kFail);
}

TEST_CASE("decide: an uncertainty wider than the limits decides nothing") {
  CHECK(decide(0, 50, -20, 20) == Decision::kUndecided);
}

TEST_CASE("decide: what is no number, unbounded or certain decides nothing") {
  const double bad[] = {std::nan(""), kInfinity, -kInfinity};
  for (const double x : bad) {
    CAPTURE(x);
    CHECK(decide(x, 1, -20, 20) == Decision::kUndecided);
    CHECK(decide(0, x, -20, 20) == Decision::kUndecided);
    CHECK(decide(0, 1, x, 20) == Decision::kUndecided);
    CHECK(decide(0, 1, -20, x) == Decision::kUndecided);
  }
  CHECK(decide(0, 0, -20, 20) == Decision::kUndecided);
  CHECK(decide(0, -1, -20, 20) == Decision::kUndecided);
  CHECK(decide(0, 1, 20, -20) == Decision::kUndecided);
}

TEST_CASE("decide: never passes an interval that leaves the limits") {
  constexpr unsigned kSeed = 41;
  CAPTURE(kSeed);
  std::mt19937_64 random(kSeed);
  std::uniform_real_distribution<double> any(-100, 100);
  int passes = 0;
  int fails = 0;
  for (int i = 0; i < 100000; ++i) {
    const double e = any(random);
    const double U = std::abs(any(random)) * 0.3 + 1e-9;
    const double a = any(random);
    const double b = any(random);
    const double low = std::min(a, b);
    const double high = std::max(a, b);
    const Decision d = decide(e, U, low, high);
    // Both ends and the middle, so that no cleverness of the rule is repeated.
    const bool all_in = e - U >= low && e + U <= high && e >= low && e <= high;
    const bool some_in = e + U >= low && e - U <= high;
    CHECK((d == Decision::kPass) == all_in);
    CHECK((d == Decision::kFail) == !some_in);
    passes += d == Decision::kPass ? 1 : 0;
    fails += d == Decision::kFail ? 1 : 0;
  }
  CHECK(passes > 1000);
  CHECK(fails > 1000);
}

TEST_CASE("decide: accepts a clock on its limit as rarely as U promises") {
  // A true error exactly on the upper limit is accepted wrongly when the
  // measured one falls below the limit by U or more, the lower limit being far
  // away: half of the 5 % outside a 95 % interval. Binomial, 4.5 standard
  // deviations (7 in a million), both sides.
  constexpr unsigned kSeed = 42;
  constexpr int kTrials = 200000;
  CAPTURE(kSeed);
  std::mt19937_64 random(kSeed);
  for (const ErrorDistribution d :
       {ErrorDistribution{0.0, 1.0}, ErrorDistribution{2.0, 1.0},
        ErrorDistribution{20.0, 0.5}}) {
    std::uniform_real_distribution<double> rectangle(-1.0, 1.0);
    std::normal_distribution<double> normal(0.0, 1.0);
    const double U = expanded_half_width(d, 0.95);
    int accepted = 0;
    for (int i = 0; i < kTrials; ++i) {
      const double e = 100.0 + d.rectangle_half_width * rectangle(random) +
                       d.normal_sigma * normal(random);
      accepted += decide(e, U, -100.0, 100.0) == Decision::kPass ? 1 : 0;
    }
    const double band = 4.5 * std::sqrt(kTrials * 0.025 * 0.975);
    CAPTURE(d.rectangle_half_width);
    CHECK(std::abs(accepted - kTrials * 0.025) < band);
  }
}

TEST_CASE("decision_name: has a name for every decision") {
  CHECK(std::string(decision_name(Decision::kPass)) == "pass");
  CHECK(std::string(decision_name(Decision::kUndecided)) == "undecided");
  CHECK(std::string(decision_name(Decision::kFail)) == "fail");
}

}  // namespace
}  // namespace clockassay
