// SPDX-License-Identifier: GPL-3.0-or-later
// How often the stated 95 % half-width contains the truth, and how far the
// estimate is off, against what the windows allow at all.
//   coverage [SEED [TRIALS [FEWEST_CYCLES [MOST_CYCLES [DUTY [JITTER]]]]]]
// 0 fewest cycles: noise that is no white jitter, over 4096 cycles, against the
// clock's long-term frequency and its mean over the capture.
// One row a cell: kind of period, cycles, jitter; then trials, coverage, rms
// error times cycles², how many trials have a bound and the rms error of these
// over the rms of the bound, median half-width over the textbook's, share with
// a set, how many outside bounds_hz.
#include <algorithm>
#include <cmath>
#include <cstdio>
#include <cstdlib>
#include <limits>
#include <optional>
#include <random>
#include <string>
#include <vector>

#include "bench/slope_bound.h"
#include "bench/trials.h"
#include "support/coverage_trial.h"
#include "support/power_law_noise.h"

using namespace clockassay;

namespace {

constexpr const char* kWanders[] = {"white", "flicker PM", "white FM",
                                    "flicker FM", "walk FM"};

constexpr double kDuty = 0.43;

/// The first of the kinds of period.
constexpr std::size_t kKindsWithBound = 4;
/// Trials that the bound is worked out for, which takes longer than all else.
constexpr std::size_t kBounded = 400;

struct Trial : CoverageTrial {
  double to_mean = 0.0;  ///< error against the mean over the capture
  /// Variance that the known jitter allows at best.
  double bound = std::numeric_limits<double>::quiet_NaN();
};

Trial jitter_trial(const PeriodKind& kind, std::size_t cycles, double duty,
                   double sigma, bool with_bound, std::mt19937_64& random) {
  Trial t{coverage_trial(kind, cycles, duty, sigma, random)};
  if (with_bound) {
    t.bound = slope_bound(t.edges, {t.period, t.edges.phase, duty, sigma});
  }
  t.edges = {};
  return t;
}

Trial wander_trial(const PeriodKind& kind, std::size_t cycles, PowerLaw noise,
                   double rms, std::mt19937_64& random) {
  const std::vector<double> walk =
      power_law_noise(noise, 2 * cycles + 2, rms, random);
  Trial t{coverage_trial(kind, cycles, kDuty, 0.0, random, walk)};
  t.to_mean =
      t.error + (walk[2 * cycles] - walk[0]) / static_cast<double>(cycles);
  t.edges = {};
  return t;
}

/// The median half-width over what 95 % of normal errors of that mean square
/// would need.
double width_over(const std::vector<Trial>& trials, double mean_square) {
  std::vector<double> widths;
  for (const Trial& t : trials) widths.push_back(t.half_width);
  std::sort(widths.begin(), widths.end());
  return widths[widths.size() / 2] / 1.96 / std::sqrt(mean_square);
}

void print_cell(const PeriodKind& kind, std::size_t cycles, double sigma,
                const std::vector<Trial>& trials) {
  double squares = 0.0, bounds = 0.0, bounded = 0.0;
  int with_bound = 0;
  int covered = 0, sets = 0, outside = 0;
  for (const Trial& t : trials) {
    squares += t.error * t.error;
    if (std::isfinite(t.bound)) {
      bounds += t.bound;
      bounded += t.error * t.error;
      ++with_bound;
    }
    covered += std::abs(t.error) <= t.half_width;
    sets += t.has_set;
    outside += t.outside;
  }
  const double n = static_cast<double>(cycles);
  const double textbook = 6.0 * (1.0 / 12.0 + sigma * sigma) / (n * n * n);
  const auto count = static_cast<double>(trials.size());
  std::printf("%-8s %7zu %5g  %5zu  %.4f  %10.4g  ", kind.name, cycles, sigma,
              trials.size(), covered / count,
              std::sqrt(squares / count) * n * n);
  if (bounds > 0.0) {
    std::printf("%3d %5.2f", with_bound, std::sqrt(bounded / bounds));
  } else {
    std::printf("%9s", "none");
  }
  std::printf("  %8.3f  %.3f  %d\n", width_over(trials, textbook), sets / count,
              outside);
  std::fflush(stdout);
}

void print_wander(const PeriodKind& kind, PowerLaw noise, double rms,
                  const std::vector<Trial>& trials) {
  int covered = 0, mean = 0, warned = 0;
  double squares = 0.0, squares_mean = 0.0;
  for (const Trial& t : trials) {
    covered += std::abs(t.error) <= t.half_width;
    mean += std::abs(t.to_mean) <= t.half_width;
    warned += t.warned_of_wander;
    squares += t.error * t.error;
    squares_mean += t.to_mean * t.to_mean;
  }
  const auto n = static_cast<double>(trials.size());
  std::printf(
      "%-8s %-10s %5g  long-term %.4f  mean %.4f  U/(1.96 rms) %.2f  %.2f "
      "warned %.3f\n",
      kind.name, kWanders[static_cast<int>(noise)], rms, covered / n, mean / n,
      width_over(trials, squares / n), width_over(trials, squares_mean / n),
      warned / n);
  std::fflush(stdout);
}

std::size_t milli(double value) {
  return static_cast<std::size_t>(value * 1000.0);
}

/// Noise of the edges that is no white jitter, far from and near a round
/// fraction of the sample rate.
void study_wander(std::size_t seed, std::size_t count) {
  constexpr std::size_t kCycles = 4096;
  for (const std::size_t k : {0u, 3u}) {
    for (const PowerLaw noise :
         {PowerLaw::kFlickerPhase, PowerLaw::kWhiteFrequency,
          PowerLaw::kFlickerFrequency, PowerLaw::kWalkFrequency}) {
      for (const double rms : {0.03, 0.1, 0.3, 1.0, 3.0}) {
        const auto make = [&](std::size_t t) {
          std::seed_seq seeds{seed, k, static_cast<std::size_t>(noise),
                              milli(rms), t};
          std::mt19937_64 random(seeds);
          return wander_trial(kPeriodKinds[k], kCycles, noise, rms, random);
        };
        print_wander(kPeriodKinds[k], noise, rms, trials_of(count, make));
      }
    }
  }
}

void study_jitter(std::size_t seed, std::size_t count, std::size_t cycles,
                  double duty, std::optional<double> only) {
  for (std::size_t k = 0; k < kPeriodKinds.size(); ++k) {
    for (const double sigma : {0.0, 0.01, 0.03, 0.1, 0.3, 1.0, 3.0}) {
      if (only && sigma != *only) continue;
      const auto make = [&](std::size_t t) {
        std::seed_seq seeds{seed, k, cycles, milli(sigma), t};
        std::mt19937_64 random(seeds);
        // At a round fraction and about it no bound says anything of most.
        const bool with_bound = k < kKindsWithBound && t < kBounded;
        return jitter_trial(kPeriodKinds[k], cycles, duty, sigma, with_bound,
                            random);
      };
      print_cell(kPeriodKinds[k], cycles, sigma, trials_of(count, make));
    }
  }
}

}  // namespace

int main(int argc, char** argv) {
  const auto argument = [&](int i, std::size_t otherwise) {
    return i < argc ? std::strtoull(argv[i], nullptr, 10) : otherwise;
  };
  const std::size_t seed = argument(1, 1), count = argument(2, 1500);
  const std::size_t fewest = argument(3, 10), most = argument(4, 10000);
  const double duty = argc > 5 ? std::strtod(argv[5], nullptr) : kDuty;
  std::optional<double> only;
  if (argc > 6) only = std::strtod(argv[6], nullptr);
  std::printf("seed %zu, duty %g\n", seed, duty);
  if (fewest == 0) study_wander(seed, count);
  for (std::size_t n = fewest; n > 0 && n <= most; n *= 10) {
    study_jitter(seed, count, n, duty, only);
  }
}
