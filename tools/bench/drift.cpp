// SPDX-License-Identifier: GPL-3.0-or-later
// The tables of docs/drift.md: drift SEED TRIALS [TROUBLE]
// For every part and every trouble: how often the band of the curve contains
// the truth, over the measured span and at its worst temperature; how often the
// model is right; how often a part that just misses its limits passes, and one
// that keeps them fails. Ends with 1 where chance does not explain a figure.
#include <cstdio>
#include <cstdlib>
#include <string>
#include <vector>

#include "bench/trials.h"
#include "support/drift_bounds.h"

using namespace clockassay;
using namespace clockassay::testing;

namespace {

bool tell(const std::string& of, const std::vector<std::string>& broken) {
  for (const std::string& b : broken) {
    std::fprintf(stderr, "%s: %s\n", of.c_str(), b.c_str());
  }
  return broken.empty();
}

}  // namespace

int main(int argc, char** argv) {
  if (argc != 3 && argc != 4) {
    std::fprintf(stderr, "use: drift SEED TRIALS [TROUBLE]\n");
    return 2;
  }
  const std::uint64_t seed = std::strtoull(argv[1], nullptr, 10);
  const std::size_t trials = std::strtoull(argv[2], nullptr, 10);
  std::printf("%s\n", table_head().c_str());
  bool sound = true;
  std::vector<std::vector<DriftCount>> of_trouble(std::size(kTroubles));
  std::uint64_t cell = 0;
  for (const PartScene scene : kPartScenes) {
    for (std::size_t at = 0; at < std::size(kTroubles); ++at) {
      const Trouble trouble = kTroubles[at];
      ++cell;
      if (argc == 4 && std::string(argv[3]) != trouble_name(trouble)) continue;
      const auto each = trials_of(trials, [&](std::size_t t) {
        std::mt19937_64 random(seed * 1000003 + cell * 10007 + t);
        return count_trial(scene, trouble, random);
      });
      const DriftCount count = sum_of(each);
      std::printf(
          "%s\n",
          table_row(scene_name(scene), trouble_name(trouble), count).c_str());
      std::fflush(stdout);
      sound =
          tell(std::string(scene_name(scene)) + ", " + trouble_name(trouble),
               broken_bounds(scene, trouble, count)) &&
          sound;
      of_trouble[at].push_back(count);
    }
  }
  for (std::size_t at = 0; at < std::size(kTroubles); ++at) {
    if (of_trouble[at].empty()) continue;
    sound = tell(trouble_name(kTroubles[at]),
                 broken_bounds_of_all(kTroubles[at], sum_of(of_trouble[at]))) &&
            sound;
  }
  return sound ? 0 : 1;
}
