// SPDX-License-Identifier: GPL-3.0-or-later
// Some of the plans that tools/bench/plan counts by the hundred.
#include <doctest/doctest.h>

#include <cstdint>
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

TEST_CASE(
    "needed lengths: of clocks and rates that are usual, and nearly lock") {
  // Locked, at few phases, at many, and off a lock by 10 to 100 ppm; a fork.
  struct Pair {
    const char* expect;
    std::int64_t rate_hz;
  };
  constexpr Pair kPairs[] = {
      {"36MHz", 400'000'000},       {"24MHz", 100'000'000},
      {"12MHz", 48'000'000},        {"25MHz", 100'000'000},
      {"14.31818MHz", 100'000'000}, {"2.99997MHz", 24'000'000},
      {"2.9997MHz", 24'000'000},    {"12.0001MHz", 120'000'000},
      {"1.25MHz", 50'000'000},      {"32768Hz", 1'000'000},
      {"32768Hz", 24'000'000}};
  struct Question {
    double tolerance_ppm;
    double timebase_ppm;
  };
  constexpr Question kQuestions[] = {{30, 5}, {100, 20}, {500, 100}, {10, 0.5}};
  constexpr std::uint64_t kSeed = 90210;
  CAPTURE(kSeed);
  std::uint64_t seed = kSeed;
  std::vector<PlanTrial> trials;
  for (const Pair& pair : kPairs) {
    for (const Question& q : kQuestions) {
      for (int i = 0; i < 6; ++i) {
        trials.push_back(needed_trial(pair.expect, q.tolerance_ppm,
                                      q.timebase_ppm, pair.rate_hz, ++seed));
      }
    }
  }
  // Pooled: no more do not pass than the plans say, but once in a thousand.
  CHECK(broken_promises(trials) == "");
  // A middle clock never fails, whatever the jitter.
  for (const PlanTrial& trial : trials) {
    CAPTURE(trial.expect);
    CHECK(trial.decision != Decision::kFail);
    CHECK_FALSE(trial.refused);
  }
}
