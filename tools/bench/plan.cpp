// SPDX-License-Identifier: GPL-3.0-or-later
// The tables of docs/plan.md: plan SEED TRIALS
// Random questions and instruments are planned, the capture is simulated as
// planned and judged: does it come as the plan said; and what the capture left
// of the frequency over what the plan foresaw. Returns 1 where more of what was
// sure is broken than chance allows.
#include <algorithm>
#include <cstdio>
#include <cstdlib>
#include <string>
#include <vector>

#include "bench/trials.h"
#include "support/plan_trial.h"

using namespace clockassay;
using namespace clockassay::testing;

namespace {

void print_promises(const std::vector<PlanTrial>& trials) {
  std::printf(
      "| the plan says | plans | pass | undecided | fail |\n"
      "|---|---|---|---|---|\n");
  for (const PlanPromise promise : kPlanPromises) {
    const PromiseCount count = count_promise(trials, promise);
    std::printf("| %s | %d | %d | %d | %d |\n", promise_name(promise),
                count.plans, count.decided[0], count.decided[1],
                count.decided[2]);
  }
  for (const PlanPromise promise :
       {PlanPromise::kPass, PlanPromise::kFail, PlanPromise::kLikely}) {
    const PromiseCount count = count_promise(trials, promise);
    std::printf(
        "\n%s: %d of %d broken, %.1f expected at most, by chance as many in "
        "%.2g of such studies",
        promise_name(promise), count.broken, count.plans, count.expected,
        count.chance);
  }
  std::printf("\n");
}

void print_widths(const std::vector<PlanTrial>& trials) {
  std::vector<double> ratios;
  std::size_t widest = 0;
  for (std::size_t i = 0; i < trials.size(); ++i) {
    const PlanTrial& t = trials[i];
    if (!t.capture_ppm || !(t.plan.capture_U.value() > 0.0)) continue;
    ratios.push_back(*t.capture_ppm / t.plan.capture_U.value());
    if (ratios.back() >= *std::max_element(ratios.begin(), ratios.end())) {
      widest = i;
    }
  }
  std::sort(ratios.begin(), ratios.end());
  if (ratios.empty()) return;
  const auto at = [&](double p) {
    return ratios[static_cast<std::size_t>(
        p * static_cast<double>(ratios.size() - 1))];
  };
  const auto above =
      ratios.end() - std::upper_bound(ratios.begin(), ratios.end(), 1.0);
  const PlanTrial& t = trials[widest];
  std::printf(
      "\nU of the capture over that of the plan, %zu captures: median "
      "%.2g, 95 of 100 below %.2g, above 1: %td, largest %.2g: plan %zu, %s at "
      "%s Hz, %.4g s, jitter %.2g s, duty %.3g, %s, %s\n",
      ratios.size(), at(0.5), at(0.95), above, at(1.0), widest,
      t.expect.c_str(), t.plan.input.sample_rate_hz.to_string().c_str(),
      t.plan.duration.value(), t.jitter.value(), t.duty,
      decision_name(t.decision), t.why.c_str());
}

// The lengths that are named, one over the other.
void print_lengths(const std::vector<PlanTrial>& trials) {
  std::vector<double> ratios;
  for (const PlanTrial& t : trials) {
    CapturePlanInput input = t.plan.input;
    input.duration.reset();
    const CapturePlan plan = plan_capture(input);
    if (!plan.decidable || !plan.needed) continue;
    ratios.push_back(plan.duration.value() / plan.needed->duration.value());
  }
  if (ratios.empty()) return;
  std::sort(ratios.begin(), ratios.end());
  std::printf(
      "\nComfortable length over the one needed, %zu plans: median "
      "%.2g, largest %.2g\n",
      ratios.size(), ratios[ratios.size() / 2], ratios.back());
}

void print_broken(const std::vector<PlanTrial>& trials) {
  int kept = 0;
  int promised = 0;
  for (std::size_t i = 0; i < trials.size(); ++i) {
    const PlanTrial& t = trials[i];
    if (t.promise == PlanPromise::kNone) continue;
    ++promised;
    kept += t.kept;
    if (t.kept) continue;
    std::printf(
        "\nplan %zu, %s, but: %s\n  %s ± %s at %s Hz, %.4g s; clock %+.4g "
        "ppm, timebase %+.4g ppm, jitter %.2g s, duty %.3g, reference %.4g Hz; "
        "U %.3g foreseen %.3g, at most %.3g; limited by %s\n  %s\n",
        i, promise_name(t.promise), decision_name(t.decision), t.expect.c_str(),
        t.tolerance.c_str(), t.plan.input.sample_rate_hz.to_string().c_str(),
        t.plan.duration.value(), t.clock_ppm, t.timebase_ppm, t.jitter.value(),
        t.duty, t.reference_hz, t.expanded_ppm.value_or(-1.0),
        t.plan.expanded.value(), t.plan.at_most.value(),
        capture_limit_name(t.plan.limited_by), t.why.c_str());
  }
  std::printf("\n%d of %d plans came as they said\n", kept, promised);
}

}  // namespace

int main(int argc, char** argv) {
  if (argc != 3) {
    std::fprintf(stderr, "use: plan SEED TRIALS\n");
    return 2;
  }
  const std::uint64_t seed = std::strtoull(argv[1], nullptr, 10);
  const std::size_t count = std::strtoull(argv[2], nullptr, 10);
  const auto trials = trials_of(
      count, [&](std::size_t t) { return plan_trial(seed * 1000003 + t); });
  print_promises(trials);
  print_widths(trials);
  print_lengths(trials);
  print_broken(trials);
  const std::string broken = broken_promises(trials);
  if (broken.empty()) return 0;
  std::fprintf(stderr, "%s\n", broken.c_str());
  return 1;
}
