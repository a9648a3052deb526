// SPDX-License-Identifier: GPL-3.0-or-later
// The tables of docs/drift.md: drift SEED TRIALS
// For every part and every trouble: how often the band of the curve contains
// the truth, over the measured span and at its worst temperature; how often the
// model is right; how often a part that just misses its limits passes, and one
// that keeps them fails.
#include <algorithm>
#include <cmath>
#include <cstdio>
#include <cstdlib>
#include <string>
#include <vector>

#include "bench/trials.h"
#include "clockassay/drift/range_verdict.h"
#include "support/drift_count.h"

using namespace clockassay;
using namespace clockassay::testing;

int main(int argc, char** argv) {
  if (argc != 3) {
    std::fprintf(stderr, "use: drift SEED TRIALS\n");
    return 2;
  }
  const std::uint64_t seed = std::strtoull(argv[1], nullptr, 10);
  const std::size_t trials = std::strtoull(argv[2], nullptr, 10);
  std::printf(
      "| part | trouble | covered | lowest | turnovers | model | false pass | "
      "false fail | marked |\n|---|---|---|---|---|---|---|---|---|\n");
  std::uint64_t cell = 0;
  for (const PartScene scene : kPartScenes) {
    for (const Trouble trouble : kTroubles) {
      ++cell;
      const auto each = trials_of(trials, [&](std::size_t t) {
        std::mt19937_64 random(seed * 1000003 + cell * 10007 + t);
        return count_trial(scene, trouble, random);
      });
      const DriftCount count = sum_of(each);
      std::printf("%s\n", table_row(scene, trouble, count).c_str());
      std::fflush(stdout);
    }
  }
}
