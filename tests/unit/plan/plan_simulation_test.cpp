// SPDX-License-Identifier: GPL-3.0-or-later
// Some of the plans that tools/bench/plan counts by the hundred.
#include <doctest/doctest.h>

#include <vector>

#include "support/plan_trial.h"

using namespace clockassay;
using namespace clockassay::testing;

TEST_CASE("plans come as they say: planned, simulated, judged") {
  constexpr std::uint64_t kSeed = 4711;
  constexpr std::uint64_t kTrials = 300;
  CAPTURE(kSeed);
  std::vector<PlanTrial> trials;
  for (std::uint64_t t = 0; t < kTrials; ++t) {
    trials.push_back(plan_trial(kSeed + t));
  }
  CHECK(broken_promises(trials) == "");
  // So many that one plan in seven that breaks would show: of 40, six, which
  // come by chance of 5 % twice in a hundred times.
  CHECK(count_promise(trials, PlanPromise::kPass).plans >= 40);
  CHECK(count_promise(trials, PlanPromise::kFail).plans >= 40);
  CHECK(count_promise(trials, PlanPromise::kUndecided).plans >= 40);
  // Of 20 seven would have to break to show, where three in twenty may.
  CHECK(count_promise(trials, PlanPromise::kLikely).plans >= 20);
}
