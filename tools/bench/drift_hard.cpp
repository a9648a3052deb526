// SPDX-License-Identifier: GPL-3.0-or-later
// The second table of docs/drift.md: drift_hard SEED TRIALS
// Series whose curve is none of the models, or that tell too little of it.
#include <cstdio>
#include <cstdlib>

#include "bench/trials.h"
#include "support/drift_count.h"
#include "support/drift_hard.h"

using namespace clockassay;
using namespace clockassay::testing;

int main(int argc, char** argv) {
  if (argc != 3 && argc != 4) {
    std::fprintf(stderr, "use: drift_hard SEED TRIALS [SCENE]\n");
    return 2;
  }
  const std::uint64_t seed = std::strtoull(argv[1], nullptr, 10);
  const std::size_t trials = std::strtoull(argv[2], nullptr, 10);
  std::printf("%s\n", table_head().c_str());
  std::uint64_t cell = 0;
  for (const HardScene scene : kHardScenes) {
    ++cell;
    if (argc == 4 && !std::string(scene_name(scene)).starts_with(argv[3]))
      continue;
    const auto each = trials_of(trials, [&](std::size_t t) {
      std::mt19937_64 random(seed * 1000003 + cell * 10007 + t);
      const DriftTrial trial = drift_trial(scene, random);
      return count_trial(trial, scene_degree(scene), random);
    });
    std::printf("%s\n", table_row(scene_name(scene), "", sum_of(each)).c_str());
    std::fflush(stdout);
  }
}
