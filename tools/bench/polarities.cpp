// SPDX-License-Identifier: GPL-3.0-or-later
// How often the stated 95 % half-width contains the truth where the two
// polarities are not what the estimate begins with: two times the same clock,
// with jitter of their own.
//   polarities [SEED [TRIALS [FEWEST_CYCLES [MOST_CYCLES]]]]
// First jitter that the two edges of a cycle, or a falling edge and the next
// rising one, share; then falling edges that move within the capture while the
// rising ones are regular. One row a cell: what, how far [samples], kind of
// period, cycles, jitter [samples]; then coverage, mean half-width over the
// textbook's of independent edges, and the share warned that the duty moves.
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

constexpr double kDuty = 0.43;
constexpr std::size_t kGrowth = 4;  ///< of the cycles, from row to row

enum class Kind { kOwn, kSameCycle, kNextCycle, kLinear, kStep, kExponential };
constexpr const char* kKinds[] = {"own",    "same cycle", "next cycle",
                                  "linear", "step",       "exponential"};

struct Cell {
  Kind kind;
  double shift;  ///< of the falling edges [samples]
  PeriodKind period;
  std::size_t cycles;
  double sigma;
};

/// How far a falling edge has moved at a part of the capture.
double moved(Kind kind, double shift, double time, double step_at) {
  switch (kind) {
    case Kind::kLinear:
      return shift * time;
    case Kind::kStep:
      return time > step_at ? shift : 0.0;
    case Kind::kExponential:
      return shift * std::exp(-time / 0.15);
    default:
      return 0.0;
  }
}

CoverageTrial trial(const Cell& cell, std::mt19937_64& random) {
  std::normal_distribution<double> normal(0.0, cell.sigma);
  const double step_at = std::uniform_real_distribution<>(0.2, 0.8)(random);
  std::vector<double> off(2 * cell.cycles + 2);
  for (double& e : off) e = cell.sigma > 0.0 ? normal(random) : 0.0;
  for (std::size_t k = 0; k <= cell.cycles; ++k) {
    if (cell.kind == Kind::kSameCycle) off[2 * k + 1] = off[2 * k];
    if (cell.kind == Kind::kNextCycle && k > 0) off[2 * k] = off[2 * k - 1];
    off[2 * k + 1] += moved(
        cell.kind, cell.shift,
        static_cast<double>(k) / static_cast<double>(cell.cycles), step_at);
  }
  CoverageTrial t =
      coverage_trial(cell.period, cell.cycles, kDuty, 0.0, random, off);
  t.edges = {};
  return t;
}

void print_cell(const Cell& cell, std::size_t seed, std::size_t count) {
  const auto trials = trials_of(count, [&](std::size_t t) {
    std::seed_seq seeds{seed,
                        static_cast<std::size_t>(cell.kind),
                        static_cast<std::size_t>(cell.shift * 1000.0),
                        static_cast<std::size_t>(cell.period.base * 1e6),
                        cell.cycles,
                        static_cast<std::size_t>(cell.sigma * 1000.0),
                        t};
    std::mt19937_64 random(seeds);
    return trial(cell, random);
  });
  double covered = 0.0, width = 0.0, warned = 0.0, squares = 0.0;
  for (const CoverageTrial& t : trials) {
    covered += std::abs(t.error) <= t.half_width ? 1.0 : 0.0;
    width += t.half_width;
    squares += t.error * t.error;
    warned += t.warned_of_duty ? 1.0 : 0.0;
  }
  const auto n = static_cast<double>(cell.cycles);
  const auto number = static_cast<double>(count);
  const double textbook =
      1.96 *
      std::sqrt(6.0 * (1.0 / 12.0 + cell.sigma * cell.sigma) / (n * n * n));
  std::printf(
      "%-11s %4g  %-7s %6zu %5g  covered %.4f  width %7.4f  rms %7.4f  "
      "warned %.4f\n",
      kKinds[static_cast<int>(cell.kind)], cell.shift, cell.period.name,
      cell.cycles, cell.sigma, covered / number, width / number / textbook,
      std::sqrt(squares / number) / textbook * 1.96, warned / number);
  std::fflush(stdout);
}

}  // namespace

int main(int argc, char** argv) {
  const auto argument = [&](int i, std::size_t otherwise) {
    return i < argc ? std::strtoull(argv[i], nullptr, 10) : otherwise;
  };
  const std::size_t seed = argument(1, 1), count = argument(2, 400);
  const std::size_t fewest = argument(3, 10), most = argument(4, 5120);
  std::printf("seed %zu, %zu trials, duty %g\n", seed, count, kDuty);
  for (const std::size_t p : {0u, 3u, 5u}) {
    for (std::size_t n = fewest; n <= most; n *= kGrowth) {
      for (const double sigma : {0.1, 0.3, 1.0, 3.0}) {
        for (const Kind kind :
             {Kind::kOwn, Kind::kSameCycle, Kind::kNextCycle}) {
          print_cell({kind, 0.0, kPeriodKinds[p], n, sigma}, seed, count);
        }
      }
      for (const Kind kind : {Kind::kLinear, Kind::kStep, Kind::kExponential}) {
        for (const double sigma : {0.02, 0.3, 1.0}) {
          for (const double shift : {0.2, 0.5, 1.0, 2.0, 4.0}) {
            print_cell({kind, shift, kPeriodKinds[p], n, sigma}, seed, count);
          }
        }
      }
    }
  }
}
