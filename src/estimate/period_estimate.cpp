// SPDX-License-Identifier: GPL-3.0-or-later
#include "estimate/period_estimate.h"

#include <algorithm>
#include <cmath>
#include <span>
#include <vector>

#include "clockassay/estimate/student_t.h"
#include "clockassay/estimate/wander.h"
#include "estimate/likelihood_estimate.h"
#include "estimate/scatter.h"

namespace clockassay {
namespace {

/// Residuals larger than this [windows rms] are normal within a sixth of a per
/// cent of the standard deviation that least squares leave.
constexpr double kGaussianRms = 0.6;

/// Chosen: with 16 periods a correlation of 0 is three deviations from -1/2.
constexpr double kFewPeriods = 16.0;

/// What jitter alone leaves of the slope at 95 %, by the scatter about the
/// line: beyond a sample of jitter it exceeds what one window more allows.
double jitter_half_width(const LineFit& line) {
  if (line.dof < 1) return 0.0;
  const auto dof = static_cast<double>(line.dof);
  return student_t_two_sided(kHalfWidthCoverage, dof) *
         std::sqrt(line.residual_squares / dof * line.slope_variance);
}

/// What is left of the slope at 95 % when jitter accumulates, so that each
/// period deviates by itself: t times the standard deviation of their mean.
/// Neighbouring periods then deviate independently, where white jitter of the
/// edges makes them deviate oppositely: their correlation is -1/2, with a
/// standard deviation of sqrt(1/2/n) over n periods (Bartlett's formula for a
/// moving average). Reckoned with if the periods vary by more than sampling can
/// make them, and either the correlation is larger than white jitter makes it
/// once in twenty times, or there are too few periods to tell.
double walk_half_width(const EdgeSums& sums, double window) {
  // Without jitter periods differ by one sample; half of one for the text.
  constexpr double kSampled = 1.5;
  constexpr double kOnceInTwenty = 1.645;
  // Chosen: from here on the scatter of the parts shows it better.
  constexpr std::int64_t kManyPeriods = 256;
  const PeriodSums& p = sums.periods;
  if (p.periods < 2 || p.pairs < 1 || p.periods >= kManyPeriods ||
      static_cast<double>(p.period_max - p.period_min) <= kSampled * window) {
    return 0.0;
  }
  const auto n = static_cast<double>(p.periods);
  const double variance = period_variance(p);
  const double correlation = 1.0 - 0.5 * static_cast<double>(p.pair_squares) /
                                       static_cast<double>(p.pairs) / variance;
  if (n >= kFewPeriods &&
      correlation < -0.5 + kOnceInTwenty * std::sqrt(0.5 / n)) {
    return 0.0;
  }
  return student_t_two_sided(kHalfWidthCoverage, n - 1.0) *
         std::sqrt(variance / n);
}

/// What the parts' edges say of their place off the line [ticks]: means, with
/// the variance that their scatter within the parts leaves.
std::vector<PartScore> part_scores(std::span<const LineSums> parts,
                                   double slope, double intercept) {
  std::vector<PartScore> scores;
  double squares = 0.0, dof = 0.0;
  for (const LineSums& part : parts) {
    if (const auto fit = fit_line(part, LineSums{})) {
      squares += fit->residual_squares;
      dof += static_cast<double>(fit->dof);
    }
  }
  if (dof < 1.0 || squares <= 0.0) return scores;
  for (const LineSums& part : parts) {
    const auto n = static_cast<double>(part.n);
    const double sum = static_cast<double>(part.y) -
                       slope * static_cast<double>(part.k) - n * intercept;
    scores.push_back({sum * dof / squares, n * dof / squares});
  }
  return scores;
}

double cycles(const EdgeSums& sums) {
  return static_cast<double>(sums.last_cycle - sums.first_cycle);
}

/// What one window more than needed encloses.
PeriodEstimate by_interval(const LineFit& line, const FeasibleSet& set) {
  PeriodEstimate p;
  p.method = EstimateMethod::kIntervalOnly;
  p.slope = set.mean_slope ? *set.mean_slope : line.slope;
  p.half_width =
      std::max({set.wide.high.value() - p.slope, p.slope - set.wide.low.value(),
                jitter_half_width(line)});
  return p;
}

PeriodEstimate by_likelihood(const LikelihoodEstimate& likely,
                             const EdgeSums& sums, const FeasibleSet& set,
                             double window) {
  PeriodEstimate p;
  p.method = set.mean_slope ? EstimateMethod::kFeasibleSet
                            : EstimateMethod::kLikelihood;
  p.slope = likely.slope;
  p.half_width = std::max(likely.high - p.slope, p.slope - likely.low);
  if (cycles(sums) < kFewPeriods) {
    p.half_width = std::max(p.half_width, walk_half_width(sums, window));
  }
  if (likely.scores.empty()) return p;
  const auto width = scatter_half_width(likely.scores);
  if (width) p.scatter = *width * window / cycles(sums);
  return p;
}

PeriodEstimate by_least_squares(const EdgeSums& sums, const LineFit& line,
                                const ResidualPass& residuals, double window) {
  PeriodEstimate p;
  p.slope = line.slope;
  p.half_width =
      std::max(jitter_half_width(line), walk_half_width(sums, window));
  const auto scores =
      part_scores(residuals.parts, line.slope, line.rise_intercept);
  if (scores.size() != kScatterParts) return p;
  const auto width = scatter_half_width(scores);
  if (width) p.scatter = *width / cycles(sums);
  return p;
}

/// Windows that may be longer than the sampling interval.
PeriodEstimate by_loose_windows(const EdgeSums& sums, const LineFit& line,
                                const FeasibleSet& set,
                                const ResidualPass& residuals, double window) {
  PeriodEstimate p = by_least_squares(sums, line, residuals, window);
  const PeriodEstimate interval = by_interval(line, set);
  if (set.mean_slope) p.method = EstimateMethod::kFeasibleSet;
  p.slope = interval.slope;
  p.half_width = std::max(p.half_width, interval.half_width);
  return p;
}

}  // namespace

PeriodEstimate estimate_period(const EdgeView& view, const EdgeSums& sums,
                               const LineFit& line, const FeasibleSet& set,
                               const ResidualPass& residuals, double window,
                               bool is_exact, const ParallelFor& parallel_for) {
  const double rms = std::sqrt(line.residual_squares /
                               static_cast<double>(sums.rise.n + sums.fall.n)) /
                     window;
  PeriodEstimate p;
  if (sums.rise.n < kFewEdges) {
    p = by_interval(line, set);
  } else if (!is_exact) {
    p = by_loose_windows(sums, line, set, residuals, window);
  } else if (set.mean_slope || rms < kGaussianRms) {
    p = by_likelihood(
        estimate_by_likelihood(view, sums, line, set, window, parallel_for),
        sums, set, window);
  } else {
    p = by_least_squares(sums, line, residuals, window);
  }
  p.wander = find_wander(residuals.parts, p.slope, window);
  if (p.scatter) {
    p.half_width = std::max(p.half_width, *p.scatter);
  } else if (p.wander) {
    p.half_width = std::max(p.half_width, *p.wander);
  }
  return p;
}

}  // namespace clockassay
