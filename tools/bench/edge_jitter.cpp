// SPDX-License-Identifier: GPL-3.0-or-later
// How well the rms jitter of an edge is known through sampling windows.
//   edge_jitter [SEED [TRIALS [FEWEST_CYCLES [MOST_CYCLES]]]]
// One row a cell: kind of period, cycles, jitter [samples]; how many of 100
// captures tell it; of these the mean of what they say over the truth, its rms
// error over the truth, how many of 100 are within two standard uncertainties,
// and the median of the rms error claimed over the truth; of all how many of
// 100 have an upper limit not below the truth, and its median [samples].
#include <algorithm>
#include <cmath>
#include <cstdio>
#include <cstdlib>
#include <random>
#include <vector>

#include "bench/trials.h"
#include "support/coverage_trial.h"

using namespace clockassay;

namespace {

double median(std::vector<double> values) {
  if (values.empty()) return std::nan("");
  const auto middle =
      values.begin() + static_cast<std::ptrdiff_t>(values.size() / 2);
  std::nth_element(values.begin(), middle, values.end());
  return *middle;
}

void print_cell(const PeriodKind& kind, std::size_t cycles, double sigma,
                const std::vector<EdgeJitter>& trials) {
  const auto n = static_cast<double>(trials.size());
  double told = 0.0, sum = 0.0, squares = 0.0, within = 0.0, bounded = 0.0;
  std::vector<double> claimed, limits;
  for (const EdgeJitter& j : trials) {
    if (j.upper_limit) limits.push_back(*j.upper_limit);
    bounded += j.upper_limit && *j.upper_limit >= sigma ? 1.0 : 0.0;
    if (!j.rms) continue;
    const double error = *j.rms - sigma;
    told += 1.0;
    sum += *j.rms;
    squares += error * error;
    within += std::abs(error) <= 2.0 * j.standard_uncertainty ? 1.0 : 0.0;
    claimed.push_back(j.standard_uncertainty);
  }
  std::printf(
      "| %s | %zu | %g | %.1f | %.3f | %.3f | %.1f | %.3f | %.1f | %.3g |\n",
      kind.name, cycles, sigma, 100.0 * told / n, sum / told / sigma,
      std::sqrt(squares / told) / sigma, 100.0 * within / told,
      median(claimed) / sigma, 100.0 * bounded / n, median(limits));
}

}  // namespace

int main(int argc, char** argv) {
  const auto argument = [&](int i, long fallback) {
    return argc > i ? std::atol(argv[i]) : fallback;
  };
  const auto seed = static_cast<std::uint64_t>(argument(1, 1));
  const auto count = static_cast<std::size_t>(argument(2, 400));
  const auto fewest = static_cast<std::size_t>(argument(3, 10));
  const auto most = static_cast<std::size_t>(argument(4, 10000));
  std::printf(
      "seed %llu, %zu captures a row\n\n"
      "| period | cycles | jitter | told %% | mean | rms error | within 2 u %% "
      "| "
      "u | bounded %% | limit |\n|---|---|---|---|---|---|---|---|---|---|\n",
      static_cast<unsigned long long>(seed), count);
  for (const PeriodKind& kind : kPeriodKinds) {
    for (std::size_t cycles = fewest; cycles <= most; cycles *= 10) {
      const double one = 1.0 / static_cast<double>(cycles);
      for (const double sigma :
           {one, 5.5 * one, 0.003, 0.01, 0.03, 0.1, 0.3, 1.0}) {
        print_cell(
            kind, cycles, sigma, trials_of(count, [&](std::size_t i) {
              std::seed_seq own{seed, static_cast<std::uint64_t>(i),
                                static_cast<std::uint64_t>(cycles)};
              std::mt19937_64 random(own);
              return coverage_trial(kind, cycles, 0.43, sigma, random).jitter;
            }));
        std::fflush(stdout);
      }
    }
  }
}
