// SPDX-License-Identifier: GPL-3.0-or-later
#include <numeric>

#include "support/plan_trial.h"

namespace clockassay::testing {
namespace {

// Chosen: of honest plans one count in a thousand is taken for a broken one.
constexpr double kOneInAThousand = 1e-3;

// P(at least so many of independent events), each with its own probability.
double chance_of(int events, const std::vector<double>& probabilities) {
  std::vector<double> exactly{1.0};
  for (const double p : probabilities) {
    exactly.push_back(0.0);
    for (std::size_t k = exactly.size() - 1; k > 0; --k) {
      exactly[k] = exactly[k] * (1.0 - p) + exactly[k - 1] * p;
    }
    exactly[0] *= 1.0 - p;
  }
  return std::accumulate(exactly.begin() + events, exactly.end(), 0.0);
}

// What the plan has for the worst clock of the limits, the worst of many
// periods or the fewest edges that a capture may show may come out better.
bool may_do_better(const CapturePlan& plan) {
  return plan.limited_by == CaptureLimit::kDuration ||
         plan.limited_by == CaptureLimit::kSampling ||
         plan.limited_by == CaptureLimit::kJitter ||
         plan.limited_by == CaptureLimit::kSampleRate;
}

}  // namespace

PromiseCount count_promise(const std::vector<PlanTrial>& trials,
                           PlanPromise promise) {
  PromiseCount count;
  std::vector<double> probabilities;
  for (const PlanTrial& t : trials) {
    if (t.promise != promise) continue;
    ++count.plans;
    ++count.decided[static_cast<int>(t.decision)];
    count.broken += !t.kept;
    const double sure = promise == PlanPromise::kLikely
                            ? t.likely.value_or(1.0) * (1.0 - t.plan.uneven)
                            : t.plan.input.coverage;
    probabilities.push_back(1.0 - sure);
    count.expected += 1.0 - sure;
  }
  count.chance = chance_of(count.broken, probabilities);
  return count;
}

std::string broken_promises(const std::vector<PlanTrial>& trials) {
  std::string broken;
  for (const PlanPromise promise :
       {PlanPromise::kPass, PlanPromise::kFail, PlanPromise::kLikely}) {
    const PromiseCount count = count_promise(trials, promise);
    if (count.chance < kOneInAThousand) {
      broken += std::string(promise_name(promise)) + ": " +
                std::to_string(count.broken) + " of " +
                std::to_string(count.plans) + " were not. ";
    }
  }
  for (std::size_t i = 0; i < trials.size(); ++i) {
    const PlanTrial& t = trials[i];
    const bool passed = t.decision == Decision::kPass;
    if (passed &&
        (t.promise == PlanPromise::kFail ||
         (t.promise == PlanPromise::kUndecided && !may_do_better(t.plan)))) {
      broken += "Trial " + std::to_string(i) + ", " + promise_name(t.promise) +
                ", passed. ";
    }
  }
  return broken;
}

}  // namespace clockassay::testing
