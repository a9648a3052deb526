// SPDX-License-Identifier: GPL-3.0-or-later
#include "estimate/period_estimate.h"

#include <algorithm>
#include <cmath>
#include <span>
#include <vector>

#include "clockassay/estimate/jitter.h"
#include "clockassay/estimate/student_t.h"
#include "clockassay/estimate/wander.h"
#include "estimate/few_edges.h"
#include "estimate/likelihood_estimate.h"
#include "estimate/phases_open.h"
#include "estimate/running_sum.h"
#include "estimate/scatter.h"
#include "estimate/shared_jitter.h"

namespace clockassay {
namespace {

/// What jitter alone leaves of the slope at 95 %, by the scatter about the
/// line: beyond a sample of jitter it exceeds what one window more allows.
double jitter_half_width(const LineFit& line) {
  if (line.dof < 1) return 0.0;
  const auto dof = static_cast<double>(line.dof);
  return student_t_two_sided(kHalfWidthCoverage, dof) *
         std::sqrt(line.residual_squares / dof * line.slope_variance);
}

/// Whether windows say more than residuals: jitter is small against them. Where
/// the polarities differ that is by the lines of their own.
bool are_seen_coarsely(const EdgeSums& sums, const LineFit& line,
                       double window) {
  constexpr double kFurthestRms =
      16.0;  // chosen: differ they do, seen so or so
  const auto rms = [&](double squares) {
    return std::sqrt(squares / static_cast<double>(sums.rise.n + sums.fall.n)) /
           window;
  };
  double apart = line.residual_squares;
  const auto rise = fit_line(sums.rise, LineSums{});
  const auto fall = fit_line(sums.fall, LineSums{});
  if (rise && fall) apart = rise->residual_squares + fall->residual_squares;
  return rms(apart) < kWindowsSeenRms &&
         rms(line.residual_squares) < kFurthestRms;
}

/// Jitter that neighbours share, by the edges' distances from their line.
SharedJitter shared_off_line(const EdgeView& view, const EdgeSums& sums,
                             const LineFit& line,
                             const ParallelFor& parallel_for) {
  if (!line.fall_intercept || line.dof < 1) return {};
  const double rms =
      std::sqrt(line.residual_squares / static_cast<double>(line.dof));
  return judge_neighbours(sum_neighbours(
      view, sums, {line.slope, line.rise_intercept, *line.fall_intercept},
      PlaceScore::of_exact(rms), parallel_for));
}

/// The likelihood of edges that are not independent, as far as neighbours
/// share jitter: all that they say is worth less by the factor.
LikelihoodEstimate worth_less(LikelihoodEstimate likely,
                              const SharedJitter& shared, double parameters) {
  const double widening =
      shared_widening(shared, likely.exact_edges - parameters);
  likely.low = likely.slope - widening * (likely.slope - likely.low);
  likely.high = likely.slope + widening * (likely.high - likely.slope);
  likely.exact_edges /= shared.variance_factor;
  likely.jitter = told_by_shared(likely.jitter, shared.variance_factor);
  // Of noise that lasts the parts' scatter tells more than neighbours do.
  if (shared.lasts) return likely;
  for (PartScore& part : likely.scores) {
    part.score /= shared.variance_factor;
    part.information /= shared.variance_factor;
  }
  return likely;
}

/// The likelihood, with the jitter that neighbours share.
LikelihoodEstimate likely_slopes(const EdgeView& view, const EdgeSums& sums,
                                 const LineFit& line, const FeasibleSet& set,
                                 const ViewExtremes& extremes, double window,
                                 const ParallelFor& parallel_for) {
  LikelihoodEstimate likely = estimate_by_likelihood(
      view, sums, line, set, extremes, window, parallel_for);
  if (sums.fall.n == 0 || likely.sigma <= 0.0) return likely;
  const SharedJitter shared = judge_neighbours(sum_neighbours(
      view, sums, likely.peak, PlaceScore::of_windows(window, likely.sigma),
      parallel_for));
  return worth_less(std::move(likely), shared, 3.0);
}

/// Variance of the edges within parts, each about its own line [ticks²].
struct WithinParts {
  double variance = 0.0;
  double dof = 0.0;
};

WithinParts within_parts(std::span<const LineSums> parts, double window) {
  constexpr double kLeast = 1e-6;  // chosen, of a window²: not nothing
  WithinParts within;
  double squares = 0.0;
  for (const LineSums& part : parts) {
    if (const auto fit = fit_line(part, LineSums{})) {
      squares += fit->residual_squares;
      within.dof += static_cast<double>(fit->dof);
    }
  }
  within.variance =
      std::max(kLeast * window * window, squares / std::max(1.0, within.dof));
  return within;
}

/// Variance by which sampling may move all edges of a part alike. It moves each
/// by window²/12; edges that scatter less than that within their part meet the
/// sampler at few phases.
double sampling_variance(const WithinParts& within, double window) {
  constexpr double kFew = 0.05;  // chosen: up to four phases
  const double sampling = window * window / 12.0;
  const double alike = sampling - within.variance;
  return alike > kFew * sampling ? alike : 0.0;
}

/// What the parts' edges say of their place off the line: means, with the
/// variance that their scatter within the parts leaves.
std::vector<PartScore> score_parts(std::span<const LineSums> parts,
                                   const LineFit& line, double variance) {
  std::vector<PartScore> scores;
  for (const LineSums& part : parts) {
    const auto n = static_cast<double>(part.n);
    const double sum = static_cast<double>(part.y) -
                       line.slope * static_cast<double>(part.k) -
                       n * line.rise_intercept;
    scores.push_back({sum / variance, n / variance});
  }
  return scores;
}

double cycles(const EdgeSums& sums) {
  return static_cast<double>(sums.last_cycle - sums.first_cycle);
}

/// What few sampling phases leave open of a slope [ticks], 0 where they are
/// many.
double open_slope(const EdgeSums& sums, double slope, double window) {
  const double period = static_cast<double>(sums.frame.period) + slope;
  return window * open_by_phases(period / window, cycles(sums));
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
                             const EdgeView& view, const EdgeSums& sums,
                             const LineFit& line, const FeasibleSet& set,
                             const ResidualPass& residuals, double window) {
  PeriodEstimate p;
  p.method = set.mean_slope ? EstimateMethod::kFeasibleSet
                            : EstimateMethod::kLikelihood;
  p.jitter = likely.jitter;
  p.slope = likely.slope;
  p.half_width = std::max(likely.high - p.slope, p.slope - likely.low);
  p.polarities = likely.polarities;
  // Where phases are many, the scatter of the parts shows as much.
  p.contradicted =
      likely.contradicted && open_slope(sums, p.slope, window) > 0.0;
  const bool scattered =
      !likely.scores.empty() && (is_scattered(likely.scores) || p.contradicted);
  const bool parted = residuals.parts.size() == kScatterParts;
  if (may_accumulate(sums, window) || (scattered && !parted)) {
    p.half_width =
        std::max(p.half_width, few_edges_half_width(view, sums, line));
  }
  if (sums.rise.n < kFewPeriods && !likely.scores.empty() &&
      may_walk(likely.scores)) {
    const auto width =
        scatter_half_width(likely.scores, likely.exact_edges, 0.0, kQuickNoise);
    const double wide = std::max(set.wide.high.value() - p.slope,
                                 p.slope - set.wide.low.value());
    if (width) {
      p.half_width = std::max(p.half_width,
                              std::min(wide, *width * window / cycles(sums)));
    }
  }
  if (!scattered || !parted) return p;
  // Where few parts have edges near the ends of their windows the others have
  // no score, but a place.
  constexpr double kFewParts = kScatterParts / 2.0;  // chosen
  const WithinParts within = within_parts(residuals.parts, window);
  const double sampling = effective_parts(likely.scores) < kFewParts
                              ? window * window / 12.0
                              : sampling_variance(within, window);
  if (sampling > 0.0) {
    p.scatter =
        scatter_half_width(score_parts(residuals.parts, line, within.variance),
                           within.dof, sampling);
  } else {
    p.scatter = scatter_half_width(
        likely.scores,
        std::max(1.0, likely.exact_edges - static_cast<double>(kScatterParts)),
        0.0);
    if (p.scatter) *p.scatter *= window;
  }
  if (p.scatter) *p.scatter /= cycles(sums);
  return p;
}

PeriodEstimate by_least_squares(const EdgeView& view, const EdgeSums& sums,
                                const LineFit& line,
                                const ResidualPass& residuals, double window,
                                const ParallelFor& parallel_for) {
  PeriodEstimate p;
  p.slope = line.slope;
  const SharedJitter shared = shared_off_line(view, sums, line, parallel_for);
  p.jitter = jitter_about(line, window, shared.variance_factor);
  p.polarities = differing_lines(sums, window);
  p.half_width = jitter_half_width(line) *
                 shared_widening(shared, static_cast<double>(line.dof));
  p.contradicted = periods_alternate(sums.periods) &&
                   open_slope(sums, p.slope, window) > 0.0;
  if (may_accumulate(sums, window) ||
      (sums.rise.n < kFewPeriods && may_run_away(view, sums, line))) {
    p.half_width =
        std::max(p.half_width, few_edges_half_width(view, sums, line));
  }
  if (residuals.parts.size() != kScatterParts) return p;
  const WithinParts within = within_parts(residuals.parts, window);
  const auto scores = score_parts(residuals.parts, line, within.variance);
  if (!is_scattered(scores)) return p;
  p.scatter =
      scatter_half_width(scores, within.dof, sampling_variance(within, window));
  if (p.scatter) *p.scatter /= cycles(sums);
  return p;
}

/// Windows that may be longer than the sampling interval.
PeriodEstimate by_loose_windows(const EdgeView& view, const EdgeSums& sums,
                                const LineFit& line, const FeasibleSet& set,
                                const ResidualPass& residuals, double window,
                                const ParallelFor& parallel_for) {
  PeriodEstimate p =
      by_least_squares(view, sums, line, residuals, window, parallel_for);
  const PeriodEstimate interval = by_interval(line, set);
  if (set.mean_slope) p.method = EstimateMethod::kFeasibleSet;
  p.slope = interval.slope;
  p.half_width = std::max(p.half_width, interval.half_width);
  return p;
}

}  // namespace

PeriodEstimate estimate_period(const EdgeView& view, const EdgeSums& sums,
                               const LineFit& line, const FeasibleSet& set,
                               const ViewExtremes& extremes,
                               const ResidualPass& residuals, double window,
                               bool is_exact, const ParallelFor& parallel_for) {
  PeriodEstimate p;
  if (sums.rise.n < kFewEdges) {
    p = by_interval(line, set);
  } else if (!is_exact) {
    p = by_loose_windows(view, sums, line, set, residuals, window,
                         parallel_for);
  } else if (set.mean_slope || are_seen_coarsely(sums, line, window)) {
    p = by_likelihood(
        likely_slopes(view, sums, line, set, extremes, window, parallel_for),
        view, sums, line, set, residuals, window);
  } else {
    p = by_least_squares(view, sums, line, residuals, window, parallel_for);
  }
  if (is_exact && p.contradicted) {
    p.half_width = std::max(p.half_width, open_slope(sums, p.slope, window));
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
