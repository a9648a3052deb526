// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <array>
#include <cstddef>
#include <random>
#include <span>

#include "clockassay/estimate/frequency_estimate.h"
#include "support/test_stretch.h"

namespace clockassay {

/// How a period lies to the sampling interval.
struct PeriodKind {
  const char* name;
  double base;    ///< samples
  double spread;  ///< uniform within +- this part of base
};
/// "golden" is as far from all simple fractions as a number can be.
inline constexpr std::array kPeriodKinds = {
    PeriodKind{"golden", 40.381966011250105, 1e-6},
    PeriodKind{"uniform", 40.5, 0.5 / 40.5},
    PeriodKind{"50 ppm", 40.0 * (1.0 + 50e-6), 5e-6},
    PeriodKind{"5 ppm", 40.0 * (1.0 + 5e-6), 0.5e-6},
    PeriodKind{"< 50 ppm", 40.0, 50e-6},
    PeriodKind{"locked", 40.0, 0.0},
};

/// One clock, sampled, and what the estimate says of it. Lengths in samples.
struct CoverageTrial {
  SampledEdges edges;
  double period = 0.0;      ///< the truth
  double error = 0.0;       ///< of the period that is estimated
  double half_width = 0.0;  ///< the stated one
  bool warned_of_wander = false;
  bool warned_of_duty = false;
  bool has_set = false;  ///< bounds_hz is stated
  bool outside = false;  ///< and the truth is not within
  EdgeJitter jitter;
};

/// In: sigma  white jitter rms; wander  of each edge, if any
CoverageTrial coverage_trial(const PeriodKind& kind, std::size_t cycles,
                             double duty, double sigma, std::mt19937_64& random,
                             std::span<const double> wander = {});

}  // namespace clockassay
