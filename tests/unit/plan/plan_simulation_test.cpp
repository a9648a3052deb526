// SPDX-License-Identifier: GPL-3.0-or-later
// A few of the plans that tools/bench/plan counts by the hundred.
#include <doctest/doctest.h>

#include "support/plan_trial.h"

using namespace clockassay;
using namespace clockassay::testing;

TEST_CASE("plans come as they say: planned, simulated, judged") {
  constexpr std::uint64_t kSeed = 4711;
  constexpr std::uint64_t kTrials = 60;
  INFO("seed ", kSeed);
  int promised = 0;
  int kept = 0;
  for (std::uint64_t t = 0; t < kTrials; ++t) {
    const PlanTrial trial = plan_trial(kSeed + t);
    CAPTURE(t);
    CAPTURE(trial.expect);
    CAPTURE(trial.why);
    // No plan that decides nothing ever passes. What sampling leaves is planned
    // for the worst clock of the limits; the one that comes may do better.
    if (trial.promise == PlanPromise::kUndecided &&
        trial.plan.limited_by != CaptureLimit::kSampling) {
      CHECK(trial.decision != Decision::kPass);
    }
    // Sure of a fail: never a pass, and the other way.
    if (trial.promise == PlanPromise::kFail) {
      CHECK(trial.decision != Decision::kPass);
    }
    if (trial.promise == PlanPromise::kPass) {
      CHECK(trial.decision != Decision::kFail);
    }
    promised += trial.promise != PlanPromise::kNone;
    kept += trial.kept;
    if (trial.promise == PlanPromise::kNone) --kept;
  }
  CAPTURE(kept);
  CAPTURE(promised);
  CHECK(promised > 30);
  // Sure means at 95 %, of clocks anywhere in the zone more: binomial, 95 %,
  // three standard deviations of 60 are 5.
  CHECK(kept >= 0.95 * promised - 5.0);
}
