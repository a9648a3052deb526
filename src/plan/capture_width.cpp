// SPDX-License-Identifier: GPL-3.0-or-later
#include "clockassay/plan/capture_width.h"

#include <algorithm>
#include <cmath>
#include <limits>

#include "clockassay/base/simplest_fraction.h"
#include "clockassay/estimate/student_t.h"

namespace clockassay {
namespace {

constexpr double kPpm = 1e6;
constexpr double kFewestCycles = 3.0;

// Far from fractions the width of the set is 11/N² and its half is 5.5/N²
// (docs/coverage.md: golden, no jitter); rounded up.
constexpr double kFarFromFractions = 6.0;

// Of a period. Chosen: beyond, repairs begin (docs/measurement-model.md).
constexpr double kMostJitter = 0.1;

// Up to here a clock counts as locked (locked_to_sampling): a little jitter at
// one of the phases, and the set says no more than at one phase alone.
constexpr std::int64_t kFewPhases = 8;

// Where no fraction tells more: that of the phase itself.
constexpr std::int64_t kMostPhases = 1'000'000'000;

std::int64_t fewest_phases(const CaptureSetting& setting, double cycles) {
  const double fs = setting.sample_rate.value();
  const double near = 1.0 / cycles;
  const double low = fs / setting.high.value() - near;
  const double high = fs / setting.low.value() + near;
  if (!(low > 0.0)) return 1;
  const auto simplest = simplest_fraction(low, high);
  if (!simplest || simplest->den() > kMostPhases) return kMostPhases;
  return static_cast<std::int64_t>(simplest->den());
}

// Whether a clock of the band may pass the sampler so slowly that few steps of
// its phase show over the capture: what they leave open is as of a locked one,
// and up to half as much more, by where they happen to lie.
bool may_hardly_pass(const CaptureSetting& setting, double cycles) {
  constexpr double kFewSteps = 4.0;  // as of the estimate (phases_open)
  const double fs = setting.sample_rate.value();
  const double few = kFewSteps / cycles;
  for (std::int64_t q = 1; q <= kFewPhases; ++q) {
    const auto periods = static_cast<double>(q);
    const double low = periods * fs / setting.high.value() - few;
    const double high = periods * fs / setting.low.value() + few;
    if (std::ceil(low) <= high) return true;
  }
  return false;
}

// [samples a cycle]
double by_jitter(double sigma, double cycles) {
  // Slope, intercept and σ are taken from the edges.
  const double z = student_t_two_sided(0.95, cycles - 2.0);
  return z * std::sqrt(12.0 * (sigma * sigma + 1.0 / 12.0) / cycles) / cycles;
}

}  // namespace

double cycles_for_width(Ppm half_width, double samples_per_period,
                        double sigma) {
  const double wanted = half_width.value() / kPpm * samples_per_period;
  double cycles = std::max(1.0 / wanted, kFewestCycles);
  if (!(sigma > 0.0)) return cycles;
  // The jitter's part falls as N^(-3/2): a little at a time up to enough.
  constexpr double kStep = 1.02;
  constexpr double kMost = 1e18;
  if (sigma >= kDitheringJitter) cycles = kFewestCycles;
  while (by_jitter(sigma, cycles) > wanted && cycles < kMost) cycles *= kStep;
  return cycles;
}

CaptureWidth foresee_width(const CaptureSetting& setting) {
  CaptureWidth width;
  // First to last rising edge: what of the ends no cycle fills is lost.
  width.cycles =
      std::floor(setting.duration.value() * setting.low.value()) - 1.0;
  if (!(width.cycles >= kFewestCycles)) {
    width.half_width = Ppm(std::numeric_limits<double>::infinity());
    return width;
  }
  const double n = width.cycles;
  const double period = setting.sample_rate / setting.high;
  const double sigma = setting.jitter.value() * setting.sample_rate.value();
  width.fewest_phases = fewest_phases(setting, n);
  if (width.fewest_phases > kFewPhases) {
    width.counted_phases = width.fewest_phases;
  }
  const auto phases = static_cast<double>(width.counted_phases);
  double sampling =
      std::max(1.0 / (phases * n), std::min(1.0, kFarFromFractions / n) / n);
  constexpr double kHardlyPassing = 1.5;  // measured up to 1.47; docs/plan.md
  if (width.counted_phases > 1 && may_hardly_pass(setting, n)) {
    sampling = kHardlyPassing / n;
  }
  const double jitter = sigma > 0.0 ? by_jitter(sigma, n) : 0.0;
  width.sampling = Ppm(sampling / period * kPpm);
  width.jitter = Ppm(jitter / period * kPpm);
  width.half_width = sigma >= kDitheringJitter
                         ? width.jitter
                         : std::max(width.sampling, width.jitter);
  // sqrt(12 (σ² + 1/12)/N³) z is the sampling's; beyond a tenth of a period
  // edges are not told apart any more.
  const double z = student_t_two_sided(0.95, n - 2.0);
  const double gap = sampling * n;  // between phases that are met
  const double equal = gap * gap * n / 12.0 / (z * z) - 1.0 / 12.0;
  // Edges that jitter by less keep to their phases (docs/plan.md).
  constexpr double kOfGap = 0.2;
  const double counts =
      std::min(std::max(std::sqrt(std::max(0.0, equal)), kOfGap * gap),
               kMostJitter * period);
  width.jitter_that_counts = Seconds(counts / setting.sample_rate.value());
  return width;
}

}  // namespace clockassay
