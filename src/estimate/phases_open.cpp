// SPDX-License-Identifier: GPL-3.0-or-later
#include "estimate/phases_open.h"

#include <cmath>

namespace clockassay {

double open_by_phases(double period_samples, double cycles) {
  constexpr int kMostPhases = 8;  // as said by locked_to_sampling
  constexpr double kFewSteps = 4.0;
  constexpr double kEdgesPerPhase = 25.0;
  for (int q = 1; q <= kMostPhases && cycles >= kEdgesPerPhase * q; ++q) {
    const double turn = q * period_samples;
    if (cycles * std::abs(turn - std::round(turn)) < kFewSteps) {
      return 1.0 / (q * cycles);
    }
  }
  return 0.0;
}

bool periods_alternate(const PeriodSums& periods) {
  constexpr std::int64_t kFewest = 16;
  constexpr double kDeviations = 4.0;
  if (periods.periods < kFewest || periods.pairs < kFewest) return false;
  if (!(period_variance(periods) > 0.0)) return false;
  return period_correlation(periods) <
         -0.5 - kDeviations *
                    std::sqrt(0.5 / static_cast<double>(periods.periods));
}

}  // namespace clockassay
