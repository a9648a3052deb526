// SPDX-License-Identifier: GPL-3.0-or-later
#include <doctest/doctest.h>

#include "support/drift_bounds.h"

using namespace clockassay;
using namespace clockassay::testing;

// tools/bench/drift in small: docs/drift.md has its table.
TEST_CASE("assay_drift: bands cover, models are right, nothing false passes") {
  constexpr std::uint64_t kSeed = 17;
  // Chosen for the time they take; the bench has more of them.
  constexpr int kTrials = 30;
  constexpr int kAgeingTrials = 10;  // each takes as long as ten others
  INFO("seed ", kSeed);
  std::mt19937_64 random(kSeed);
  for (const Trouble trouble : kTroubles) {
    CAPTURE(trouble_name(trouble));
    const int trials = trouble == Trouble::kAgeing ? kAgeingTrials : kTrials;
    std::vector<DriftCount> sums;
    for (const PartScene scene : kPartScenes) {
      CAPTURE(scene_name(scene));
      std::vector<DriftCount> counts;
      for (int i = 0; i < trials; ++i) {
        counts.push_back(count_trial(scene, trouble, random));
      }
      sums.push_back(sum_of(counts));
      for (const std::string& broken :
           broken_bounds(scene, trouble, sums.back())) {
        FAIL_CHECK(broken);
      }
    }
    for (const std::string& broken :
         broken_bounds_of_all(trouble, sum_of(sums))) {
      FAIL_CHECK(broken);
    }
  }
}
