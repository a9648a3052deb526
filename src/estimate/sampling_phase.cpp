// SPDX-License-Identifier: GPL-3.0-or-later
#include "clockassay/estimate/sampling_phase.h"

#include <algorithm>
#include <cmath>

namespace clockassay {
namespace {

constexpr int kMostPhases = 8;
constexpr double kEdgesPerPhase = 10.0;

/// The fraction of a sample whose multiples fill it most evenly: the golden
/// section, 1 - 1/phi.
constexpr double kGolden = 0.381966;

/// The nearest lower number of samples a period that is golden, or 4.38: fewer
/// are too few.
double golden_samples(double period_samples) {
  constexpr double kFewest = 4.0;
  return std::max(kFewest, std::floor(period_samples - kGolden)) + kGolden;
}

}  // namespace

std::optional<FewPhases> find_few_phases(double period_samples, double cycles,
                                         Seconds span) {
  for (int q = 1; q <= kMostPhases && cycles >= kEdgesPerPhase * q; ++q) {
    const double p = std::round(q * period_samples);
    const double steps = cycles * std::abs(q * period_samples - p);
    if (p < 1.0 || steps >= 1.0) continue;
    const double frequency = cycles / span.value();
    FewPhases few;
    few.samples = static_cast<std::int64_t>(p);
    few.periods = q;
    few.steps = steps;
    few.beat = Hertz(steps / span.value());
    few.resolution = Ppm(1e6 / (q * cycles * period_samples));
    few.better_rate = Hertz(frequency * golden_samples(period_samples));
    return few;
  }
  return std::nullopt;
}

}  // namespace clockassay
