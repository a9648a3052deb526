// SPDX-License-Identifier: GPL-3.0-or-later
// How often the stated 95 % half-width contains the truth, and how far the
// estimate is off, against what the windows allow at all.
//   coverage [SEED [TRIALS [FEWEST_CYCLES [MOST_CYCLES]]]]
// 0 fewest cycles: noise that is no white jitter, over 4096 cycles, against the
// clock's long-term frequency and its mean over the capture.
// One row a cell: kind of period, cycles, jitter; then trials, coverage, rms
// error times cycles², rms error over the rms of the bound, median half-width
// over the textbook's, share with a set, share outside bounds_hz.
#include <algorithm>
#include <atomic>
#include <cmath>
#include <cstdio>
#include <cstdlib>
#include <limits>
#include <random>
#include <string>
#include <thread>
#include <vector>

#include "bench/slope_bound.h"
#include "clockassay/estimate/clock_estimate.h"
#include "support/power_law_noise.h"
#include "support/test_stretch.h"

using namespace clockassay;

namespace {

struct Kind {
  const char* name;
  double base;    ///< samples
  double spread;  ///< uniform within +- this part of base
};
// "golden" is as far from all simple fractions as a number can be.
constexpr Kind kKinds[] = {
    {"golden", 40.381966011250105, 1e-6},
    {"uniform", 40.5, 0.5 / 40.5},
    {"50 ppm", 40.0, 50e-6},
    {"5 ppm", 40.0, 5e-6},
    {"locked", 40.0, 0.0},
};

using Wander = PowerLaw;
constexpr const char* kWanders[] = {"white", "flicker PM", "white FM",
                                    "flicker FM", "walk FM"};

TickScale one_sample_a_tick() {
  TickScale scale;
  scale.sample_ticks = Rational(1);
  return scale;
}

/// Trials that the bound is worked out for, which takes longer than all else.
constexpr std::size_t kBounded = 400;

struct Trial {
  double error = 0.0;       ///< of the period [samples]
  double half_width = 0.0;  ///< [samples]
  double to_mean = 0.0;     ///< error against the mean over the capture
  bool warned = false;
  double bound = 0.0;  ///< variance that the known jitter allows at best
  bool has_set = false;
  bool outside = false;
};

Trial run(const Kind& kind, std::size_t cycles, double sigma, Wander noise,
          double rms, bool with_bound, std::mt19937_64& random) {
  std::uniform_real_distribution<double> uniform(-1.0, 1.0);
  const double period = kind.base * (1.0 + kind.spread * uniform(random));
  const double duty = 0.43;
  const std::vector<double> walk =
      noise == Wander::kNone
          ? std::vector<double>(2 * cycles + 2)
          : power_law_noise(noise, 2 * cycles + 2, rms, random);
  SampledEdges e = sample_edges(period, duty, sigma, cycles, random, walk);
  const TestStretch s = stretch_from_edges(e.rises, e.falls, 2048);
  const auto clock =
      estimate_clock(EdgeView(s.stretch), one_sample_a_tick(), serial_for);
  Trial t;
  const double mean =
      (walk[2 * cycles] - walk[0]) / static_cast<double>(cycles);
  if (!clock) {
    std::fprintf(stderr, "no estimate: %s\n", clock.error().message.c_str());
    std::exit(1);
  }
  const double f = clock->frequency.frequency.value();
  const double truth = 1.0 / period;
  t.error = (f - truth) * period * period;
  t.to_mean = t.error + mean;
  t.warned = std::any_of(
      clock->warnings.begin(), clock->warnings.end(),
      [](const Warning& w) { return w.code == WarningCode::kWander; });
  t.half_width = clock->frequency.half_width.value() * period * period;
  t.bound = std::numeric_limits<double>::quiet_NaN();
  if (with_bound) {
    t.bound = slope_bound(e, {period, e.phase, duty, sigma});
  }
  t.has_set = clock->frequency.bound_low.has_value();
  t.outside = t.has_set && (truth < clock->frequency.bound_low->value() ||
                            truth > clock->frequency.bound_high->value());
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

void print_cell(const Kind& kind, std::size_t cycles, double sigma,
                const std::vector<Trial>& trials) {
  double squares = 0.0, bounds = 0.0, bounded = 0.0;
  int covered = 0, sets = 0, outside = 0;
  for (const Trial& t : trials) {
    squares += t.error * t.error;
    if (std::isfinite(t.bound)) {
      bounds += t.bound;
      bounded += t.error * t.error;
    }
    covered += std::abs(t.error) <= t.half_width;
    sets += t.has_set;
    outside += t.outside;
  }
  const double n = static_cast<double>(cycles);
  const double textbook = 6.0 * (1.0 / 12.0 + sigma * sigma) / (n * n * n);
  const auto count = static_cast<double>(trials.size());
  std::printf("%-8s %7zu %5g  %5zu  %.4f  %10.4g  %5.2f  %8.3f  %.3f  %d\n",
              kind.name, cycles, sigma, trials.size(), covered / count,
              std::sqrt(squares / count) * n * n, std::sqrt(bounded / bounds),
              width_over(trials, textbook), sets / count, outside);
  std::fflush(stdout);
}

/// Runs all trials of a cell, each from its own seed.
template <class Make>
std::vector<Trial> trials_of(std::size_t count, const Make& make) {
  std::vector<Trial> trials(count);
  std::atomic<std::size_t> next{0};
  const auto work = [&] {
    for (std::size_t t = next++; t < count; t = next++) trials[t] = make(t);
  };
  std::thread other(work);
  work();
  other.join();
  return trials;
}

void print_wander(const Kind& kind, Wander noise, double rms,
                  const std::vector<Trial>& trials) {
  int covered = 0, mean = 0, warned = 0;
  double squares = 0.0, squares_mean = 0.0;
  for (const Trial& t : trials) {
    covered += std::abs(t.error) <= t.half_width;
    mean += std::abs(t.to_mean) <= t.half_width;
    warned += t.warned;
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
    for (const Wander noise :
         {Wander::kFlickerPhase, Wander::kWhiteFrequency,
          Wander::kFlickerFrequency, Wander::kWalkFrequency}) {
      for (const double rms : {0.03, 0.1, 0.3, 1.0, 3.0}) {
        const auto make = [&](std::size_t t) {
          std::seed_seq seeds{seed, k, static_cast<std::size_t>(noise),
                              milli(rms), t};
          std::mt19937_64 random(seeds);
          return run(kKinds[k], kCycles, 0.0, noise, rms, false, random);
        };
        print_wander(kKinds[k], noise, rms, trials_of(count, make));
      }
    }
  }
}

void study_jitter(std::size_t seed, std::size_t count, std::size_t cycles) {
  for (std::size_t k = 0; k < std::size(kKinds); ++k) {
    for (const double sigma : {0.0, 0.01, 0.03, 0.1, 0.3, 1.0, 3.0}) {
      const auto make = [&](std::size_t t) {
        std::seed_seq seeds{seed, k, cycles, milli(sigma), t};
        std::mt19937_64 random(seeds);
        return run(kKinds[k], cycles, sigma, Wander::kNone, 0.0, t < kBounded,
                   random);
      };
      print_cell(kKinds[k], cycles, sigma, trials_of(count, make));
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
  std::printf("seed %zu\n", seed);
  if (fewest == 0) study_wander(seed, count);
  for (std::size_t n = fewest; n > 0 && n <= most; n *= 10) {
    study_jitter(seed, count, n);
  }
}
