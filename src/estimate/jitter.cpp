// SPDX-License-Identifier: GPL-3.0-or-later
#include "clockassay/estimate/jitter.h"

#include <cmath>

namespace clockassay {

Jitter describe_jitter(const EdgeSums& sums, const LineFit& line,
                       const ResidualPass& residuals, double window_ticks,
                       double tick_s) {
  constexpr double kLimitedBelow = 0.6;  // windows; see the header
  Jitter jitter;
  const PeriodSums& p = sums.periods;
  jitter.cycles = p.periods;
  const auto seconds = [&](double ticks) { return Seconds(ticks * tick_s); };
  if (p.periods >= 2) {
    jitter.period_rms = seconds(std::sqrt(period_variance(p)));
    jitter.period_peak_to_peak =
        seconds(static_cast<double>(p.period_max - p.period_min));
  }
  if (p.pairs >= 1) {
    jitter.cycle_to_cycle_rms = seconds(std::sqrt(
        static_cast<double>(p.pair_squares) / static_cast<double>(p.pairs)));
    jitter.cycle_to_cycle_peak = seconds(static_cast<double>(p.pair_peak));
  }
  if (sums.rise.n >= 3) {
    const double rms = std::sqrt(line.rise_residual_squares /
                                 static_cast<double>(sums.rise.n));
    jitter.tie_rms = seconds(rms);
    jitter.tie_peak_to_peak = seconds(residuals.highest - residuals.lowest);
    jitter.resolution_limited = rms < kLimitedBelow * window_ticks;
    if (jitter.resolution_limited) {
      jitter.upper_limit = seconds(rms + 0.5 * window_ticks);
    }
  }
  return jitter;
}

}  // namespace clockassay
