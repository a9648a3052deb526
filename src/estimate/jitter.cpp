// SPDX-License-Identifier: GPL-3.0-or-later
#include "clockassay/estimate/jitter.h"

#include <algorithm>
#include <boost/math/distributions/chi_squared.hpp>
#include <cmath>

namespace clockassay {
namespace {

/// The variance of what is anywhere in a length is its square over this.
constexpr double kUniformVariance = 12.0;
/// Of 95 %: what is told is told by eight degrees of freedom or more.
constexpr double kCoverageFactor = 2.0;

/// Squares with a correlation r between neighbours tell of the variance what
/// 1 + r² times fewer independent ones do; r is what raises the slope's.
double fewer_squares(double shared_variance) {
  const double r = shared_variance - 1.0;
  return 1.0 + r * r;
}

}  // namespace

double upper_factor(double dof) {
  constexpr double kTail = 0.05;
  return std::sqrt(dof / quantile(boost::math::chi_squared(dof), kTail));
}

EdgeJitter told_by_shared(EdgeJitter jitter, double shared_variance) {
  const double fewer = fewer_squares(shared_variance);
  if (!jitter.rms || fewer <= 1.0 || jitter.standard_uncertainty <= 0.0) {
    return jitter;
  }
  const double u = jitter.standard_uncertainty * std::sqrt(fewer);
  const double relative = u / *jitter.rms;
  jitter.standard_uncertainty = u;
  // A normal standard deviation is known to 1 / sqrt(2 dof) of itself.
  jitter.upper_limit = *jitter.rms * upper_factor(0.5 / (relative * relative));
  return jitter;
}

EdgeJitter jitter_about(const LineFit& line, double window_ticks,
                        double shared_variance) {
  EdgeJitter jitter;
  if (line.dof < 1) return jitter;
  const double dof = std::max(
      1.0, static_cast<double>(line.dof) / fewer_squares(shared_variance));
  const double sampling = window_ticks * window_ticks / kUniformVariance;
  const double seen = line.residual_squares / static_cast<double>(line.dof);
  const double most = seen * upper_factor(dof) * upper_factor(dof);
  jitter.upper_limit = std::sqrt(std::max(most - sampling, sampling));
  if (std::sqrt(seen) < kWindowsSeenRms * window_ticks) return jitter;
  jitter.rms = std::sqrt(seen - sampling);
  // Of the variance it is sqrt(2 / dof) of what is seen.
  jitter.standard_uncertainty = seen / std::sqrt(2.0 * dof) / *jitter.rms;
  return jitter;
}

Jitter describe_jitter(const EdgeSums& sums, const LineFit& line,
                       const ResidualPass& residuals, const EdgeJitter& edge,
                       double window_ticks, double tick_s) {
  Jitter jitter;
  const PeriodSums& p = sums.periods;
  jitter.cycles = p.periods;
  jitter.pairs = p.pairs;
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
    jitter.resolution_limited = rms < kWindowsSeenRms * window_ticks;
    const double surely = rms + 0.5 * window_ticks;
    jitter.upper_limit =
        seconds(std::min(edge.upper_limit.value_or(surely), surely));
    if (edge.rms) {
      jitter.edge_rms = seconds(*edge.rms);
      jitter.edge_rms_uncertainty =
          seconds(kCoverageFactor * edge.standard_uncertainty);
    }
    if (line.dof >= 1) {
      const double seen =
          std::sqrt(line.residual_squares / static_cast<double>(line.dof));
      jitter.parts = {{"edges about the line, as seen", seconds(seen)},
                      {"sampling, with its phases met evenly",
                       seconds(window_ticks / std::sqrt(kUniformVariance))}};
    }
  }
  return jitter;
}

void take_off_input(Seconds input_rms, Jitter& jitter) {
  if (!jitter.parts.empty()) {
    jitter.parts.push_back({kInputJitterStated, input_rms});
  }
  if (!jitter.edge_rms) return;
  const double seen = jitter.edge_rms->value();
  const double own = std::sqrt(
      std::max(0.0, seen * seen - input_rms.value() * input_rms.value()));
  // Of the variance the uncertainty is 2 sigma U, of either.
  const double u = jitter.edge_rms_uncertainty->value() * seen / own;
  if (!(own > u)) {
    jitter.edge_rms.reset();
    jitter.edge_rms_uncertainty.reset();
    return;
  }
  jitter.edge_rms = Seconds(own);
  jitter.edge_rms_uncertainty = Seconds(u);
}

}  // namespace clockassay
