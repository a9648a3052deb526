// SPDX-License-Identifier: GPL-3.0-or-later
#include "estimate/likelihood_estimate.h"

#include <algorithm>
#include <cmath>

#include "clockassay/estimate/frequency_estimate.h"
#include "clockassay/estimate/jitter.h"
#include "clockassay/estimate/student_t.h"
#include "estimate/interval_probability.h"
#include "estimate/likelihood_table.h"
#include "estimate/window_check.h"

namespace clockassay {
namespace {

/// Jitter at which the climb begins [windows]. Chosen.
constexpr double kStartSigma = 0.2;
/// Jitter less than this part of a window over the number of edges leaves no
/// trace: none would cross an end of its window.
constexpr double kUnseen = 1.0 / 50.0;
/// Nor is a table good for less than this part of the jitter it is made for.
constexpr double kTableSpan = 1e-4;

/// A table as fine as little jitter leaves out edges that say nothing there,
/// but would where edges off the line are another's and it moves freely.
/// Chosen: a second or two of climbing.
constexpr std::int64_t kMostSingleRepaired = 16384;

/// Chance that an extra edge lies in a given window: as many as were left out
/// may have been taken for the clock's own, where one hides the clock's edge or
/// comes where that is lost.
double alien_chance(const EdgeView& view, const EdgeSums& sums, double window) {
  const double ticks = static_cast<double>(sums.last_cycle - sums.first_cycle) *
                       static_cast<double>(sums.frame.period);
  if (!(ticks > 0.0)) return 0.0;
  return static_cast<double>(view.extra_edges()) * window / ticks;
}

class Estimator {
 public:
  Estimator(const EdgeView& view, const EdgeSums& sums,
            const ViewExtremes& extremes, double window,
            const ParallelFor& parallel_for)
      : view_(view),
        sums_(sums),
        parallel_for_(parallel_for),
        edges_(static_cast<double>(sums.rise.n + sums.fall.n)) {
    about_.window = window;
    about_.extremes = &extremes;
    about_.reach = static_cast<double>(
        std::max({std::int64_t{1}, -sums.first_cycle, sums.last_cycle}));
    alien_ = alien_chance(view, sums, window);
    about_.with_silent = alien_ > 0.0;
    if (about_.with_silent) about_.most_single = kMostSingleRepaired;
  }

  /// A least-squares line runs through the middle of the windows.
  void refer_to(const LineFit& line, double sigma) {
    about_.slope = line.slope;
    about_.rise = line.rise_intercept - 0.5 * about_.window;
    about_.fall = line.fall_intercept.value_or(0.0) - 0.5 * about_.window;
    about_.sigma = sigma;
  }
  void refer_to(const FeasibleSet& set, double sigma) {
    about_.slope = *set.mean_slope;
    about_.rise = *set.rise_middle;
    about_.fall = set.fall_middle.value_or(0.0);
    about_.sigma = sigma;
  }

  WindowLikelihood tabulate() const {
    return WindowLikelihood(tabulate_edges(view_, sums_, about_, parallel_for_),
                            least_sigma(), alien_);
  }

  /// The first table, of a sample where edges are many.
  WindowLikelihood tabulate_first() {
    // Chosen: enough for a line and a jitter from which all are taken.
    constexpr std::int64_t kMostCycles = 1 << 17;
    about_.sample =
        CycleSample(sums_.first_cycle, sums_.last_cycle, kMostCycles);
    return tabulate();
  }

  /// The peak, by tables as fine as the jitter that they show.
  LikelihoodPeak find_peak(double residual_rms, WindowLikelihood& table) {
    LikelihoodPeak peak =
        table.peak({0, 0, 0, std::max(kStartSigma, residual_rms)});
    if (edges_ <= static_cast<double>(about_.most_single)) return peak;
    for (int i = 0; i < kMostTables; ++i) {
      const bool coarse = about_.sigma > 4.0 * peak.line.sigma &&
                          about_.sigma > 4.0 * least_sigma();
      const bool done = !coarse && !is_outgrown(peak.line);
      if (done && about_.sample.has_all()) break;
      about_.sample = CycleSample();
      move_to(peak.line);
      about_.sigma = std::max(2.0 * peak.line.sigma, least_sigma());
      table = tabulate();
      peak = table.peak({0, 0, 0, peak.line.sigma});
    }
    return peak;
  }

  /// Whether neighbouring edges depend on each other: false beyond so many
  /// edges, which the time is saved for.
  bool neighbours_depend(const JitterLine& line) const {
    constexpr double kMostEdges = 1 << 17;  // chosen
    if (edges_ > kMostEdges) return false;
    NeighbourScores neighbours;
    BlockEdges block;
    for (std::size_t b = 0; b < view_.block_count(); ++b) {
      view_.read_block(b, block);
      add_scores(block, false, line, neighbours);
      add_scores(block, true, line, neighbours);
    }
    return neighbours.are_dependent();
  }

  /// A table for jitter as much as that of a line of the present one, which it
  /// is about; the line becomes one of the new table.
  WindowLikelihood tabulate_for(JitterLine& line) {
    constexpr double kRoom = 8.0;  // chosen: a few doublings
    move_to(line);
    about_.sigma = std::max(kRoom * line.sigma, least_sigma());
    line = {0.0, 0.0, 0.0, line.sigma};
    return tabulate();
  }
  double table_sigma() const { return about_.sigma; }

  double in_table(double slope) const {
    return (slope - about_.slope) * about_.reach / about_.window;
  }
  double slope_of(double table_slope) const {
    return about_.slope + table_slope * about_.window / about_.reach;
  }
  /// The lines of the frame that a line of the table is [ticks].
  EdgeLines lines_of(const JitterLine& line) const {
    return {slope_of(line.slope), about_.rise + line.rise * about_.window,
            about_.fall + line.fall * about_.window};
  }
  double window() const { return about_.window; }
  double least_sigma() const {
    return std::max(kUnseen / edges_, kTableSpan * about_.sigma);
  }
  double edges() const { return edges_; }
  bool has_falls() const { return sums_.fall.n > 0; }

 private:
  static constexpr int kMostTables = 5;  // chosen: two are the rule

  /// Whether edges that the table left out might say something.
  bool is_outgrown(const JitterLine& line) const {
    const double moved = std::max(std::abs(line.rise), std::abs(line.fall)) +
                         std::abs(line.slope);
    return line.sigma > about_.sigma || moved > 4.0 * about_.sigma;
  }

  void add_scores(const BlockEdges& block, bool fall, const JitterLine& line,
                  NeighbourScores& neighbours) const {
    constexpr double kSilent = 8.0;  // sigma inside both ends: as the table's
    const EdgeArray& edges = fall ? block.fall : block.rise;
    const double slope = slope_of(line.slope);
    const double place = (fall ? about_.fall : about_.rise) +
                         about_.window * (fall ? line.fall : line.rise);
    const double step = 1.0 / line.sigma;
    for (std::size_t i = 0; i < edges.count; ++i) {
      const std::int64_t k = sums_.frame.k(block.first_cycle, edges.cycle[i]);
      const auto y = static_cast<double>(sums_.frame.y(
          block.first_cycle, block.first_tick, edges.cycle[i], edges.tick[i]));
      const double high =
          (y - slope * static_cast<double>(k) - place) / about_.window * step;
      const double low = high - step;
      double score = 0.0;
      if (high <= kSilent || low >= -kSilent) {
        const IntervalProbability p = interval_probability(low, high);
        score = p.low - p.high;
      }
      neighbours.add(k, fall, score);
    }
  }

  void move_to(const JitterLine& line) {
    about_.slope = slope_of(line.slope);
    about_.rise += line.rise * about_.window;
    about_.fall += line.fall * about_.window;
  }

  const EdgeView& view_;
  const EdgeSums& sums_;
  const ParallelFor& parallel_for_;
  double edges_;
  double alien_ = 0.0;  ///< chance that an edge in a window is not the clock's
  LikelihoodReference about_;
};

/// How far below the peak the likelihood may be: see the header.
double threshold(double coverage, double exact_edges, double edges,
                 double parameters) {
  constexpr double kLeastFreedom = 3.0;  // chosen: coverage at few edges
  const double n =
      std::min(edges, std::max(exact_edges, parameters + kLeastFreedom));
  const double dof = std::max(n - parameters, 1.0);
  const double t = student_t_two_sided(coverage, dof);
  return n * std::log1p(t * t / dof);
}

/// Logarithm of the likelihood at a slope, at its largest over all else. `at`
/// is where the climb begins, and where the next one may: from too much jitter
/// the way up is smooth, from too little it is not, hence a least one.
double log_profile(const WindowLikelihood& table, JitterLine& at, double slope,
                   double least_start) {
  at.slope = slope;
  const LikelihoodPeak peak = table.peak_at_slope(at);
  at = peak.line;
  at.sigma = std::max(at.sigma, least_start);
  return peak.log;
}

/// Where the profile falls to the threshold.
class ProfileEnd {
 public:
  ProfileEnd(const WindowLikelihood& table, double peak_log, double threshold,
             double least_start)
      : table_(table),
        peak_log_(peak_log),
        root_(std::sqrt(threshold)),
        least_start_(least_start) {}

  /// The end between from.slope, which is within, and `limit`, which is the end
  /// if all slopes up to it are within. `step` is a first guess of how far.
  double find(JitterLine from, double step, double limit) const {
    const double start = from.slope;
    double near = start, near_depth = -root_;
    double far = 0.0, far_depth = -1.0;
    while (far_depth < 0.0) {
      far = near + step;
      const bool last = std::abs(far - start) >= std::abs(limit - start);
      if (last) far = limit;
      far_depth = depth(from, far);
      if (far_depth >= 0.0) break;
      if (last) return limit;
      near = far;
      near_depth = far_depth;
      step *= 2.0;
    }
    return cut(from, start, near, near_depth, far, far_depth);
  }

 private:
  /// Regula falsi (Illinois): the depth is nearly a straight line. Where it is
  /// a cliff, the end is taken as soon as it is known well enough, on the far
  /// side.
  double cut(JitterLine& from, double start, double near, double near_depth,
             double far, double far_depth) const {
    constexpr int kMostCuts = 50;    // chosen: never reached
    constexpr double kClose = 0.01;  // chosen: of the root of the threshold
    constexpr double kFine = 1e-3;   // chosen: of the distance to the end
    for (int i = 0; i < kMostCuts && far_depth > kClose * root_; ++i) {
      if (std::abs(far - near) < kFine * std::abs(far - start)) break;
      const double middle =
          near + (far - near) * near_depth / (near_depth - far_depth);
      const double d = depth(from, middle);
      if (d >= 0.0) {
        far = middle;
        far_depth = d;
        near_depth *= 0.5;
      } else {
        near = middle;
        near_depth = d;
        far_depth *= 0.5;
      }
    }
    return far;
  }

  /// Root of twice the fall from the peak, less the root of the threshold.
  /// `at` is where the climb begins and ends.
  double depth(JitterLine& at, double slope) const {
    const double log = log_profile(table_, at, slope, least_start_);
    return std::sqrt(std::max(0.0, 2.0 * (peak_log_ - log))) - root_;
  }

  const WindowLikelihood& table_;
  double peak_log_;
  double root_;
  double least_start_;
};

/// Whether twice the fall at a slope is what a parabola of the likelihood's
/// bend at its peak would give, to within a third. Chosen: a sixth of U.
bool is_parabola(const WindowLikelihood& table, const LikelihoodPeak& peak,
                 double slope, double q) {
  JitterLine at = peak.line;
  const double fall = 2.0 * (peak.log - log_profile(table, at, slope, 0.0));
  return fall > q / 1.33 && fall < q * 1.33;
}

/// Of the upper limit of jitter where edges say little of it. Chosen: 0.90,
/// which leaves out 5 % of the upper side, held in 89 to 94 of 100 captures.
constexpr double kUpperCoverage = 0.95;

/// The largest jitter whose likelihood, at its largest over all lines, is not
/// too far below the peak [windows]. Absent: no table goes so far.
std::optional<double> largest_sigma(Estimator& estimator,
                                    const LikelihoodPeak& peak,
                                    double exact_edges, double parameters) {
  constexpr double kFactor = 2.0;
  constexpr double kMostSigma = 8.0;  // chosen: windows say nothing then
  constexpr int kHalvings = 5;        // chosen: to 2 %
  const double fall = 0.5 * threshold(kUpperCoverage, exact_edges,
                                      estimator.edges(), parameters + 1.0);
  JitterLine at = peak.line;
  WindowLikelihood table = estimator.tabulate_for(at);
  const auto is_within = [&](double sigma) {
    at.sigma = sigma;
    if (sigma > estimator.table_sigma()) table = estimator.tabulate_for(at);
    const LikelihoodPeak here = table.peak_at_sigma(at);
    at = here.line;
    return here.log >= peak.log - fall;
  };
  double within = at.sigma, beyond = kFactor * within;
  while (is_within(beyond)) {
    within = beyond;
    beyond *= kFactor;
    if (within > kMostSigma) return std::nullopt;
  }
  for (int i = 0; i < kHalvings; ++i) {
    const double middle = std::sqrt(within * beyond);
    (is_within(middle) ? within : beyond) = middle;
  }
  return beyond;
}

/// Mean of the slope, weighed by its likelihood, between two slopes.
double mean_slope(const WindowLikelihood& table, JitterLine at, double peak_log,
                  double low, double high) {
  constexpr int kSlopes = 16;  // chosen: the weights are smooth
  const double least_start = at.sigma;
  double mass = 0.0, moment = 0.0;
  for (int i = 0; i <= kSlopes; ++i) {
    const double slope = low + (high - low) * i / kSlopes;
    const double log = log_profile(table, at, slope, least_start);
    const double end = i == 0 || i == kSlopes ? 0.5 : 1.0;
    const double weight = end * std::exp(log - peak_log);
    mass += weight;
    moment += weight * slope;
  }
  return mass > 0.0 ? moment / mass : 0.5 * (low + high);
}

/// Where there is a line through all windows: its likelihood is 1.
LikelihoodEstimate estimate_in_set(Estimator& estimator, const FeasibleSet& set,
                                   double parameters) {
  // Wide enough for what the interval's ends may need: the edges that bound the
  // set, which are as far from the ends of their windows as it is wide where
  // the sampler meets few phases, must not be among those that say nothing.
  constexpr double kNearSet = 32.0;
  constexpr double kSetWidths = 0.5;
  estimator.refer_to(set, kNearSet / estimator.edges());
  const double width = estimator.in_table(set.bounds->high.value()) -
                       estimator.in_table(set.bounds->low.value());
  estimator.refer_to(set, std::min(0.25, std::max(kNearSet / estimator.edges(),
                                                  kSetWidths * width)));
  const WindowLikelihood table = estimator.tabulate();
  LikelihoodEstimate e;
  e.slope = *set.mean_slope;
  JitterLine from;
  from.sigma = std::min(kStartSigma, 4.0 / estimator.edges());
  const ProfileEnd end(
      table, 0.0,
      threshold(kHalfWidthCoverage, 0.0, estimator.edges(), parameters),
      from.sigma);
  from.slope = estimator.in_table(set.bounds->low.value());
  const double first_step = std::abs(from.slope);
  e.low = estimator.slope_of(
      end.find(from, -first_step, estimator.in_table(set.wide.low.value())));
  from.slope = estimator.in_table(set.bounds->high.value());
  e.high = estimator.slope_of(
      end.find(from, from.slope, estimator.in_table(set.wide.high.value())));
  LikelihoodPeak peak;  // on the set, with next to no jitter
  peak.line.slope = estimator.in_table(*set.mean_slope);
  peak.line.sigma = 0.5 / estimator.edges();
  if (const auto most = largest_sigma(estimator, peak, 0.0, parameters)) {
    e.jitter.upper_limit = *most * estimator.window();
  }
  return e;
}

/// What the polarities say where it differs, as slopes of the frame.
std::optional<PolaritySlopes> polarities_at(const Estimator& estimator,
                                            const WindowLikelihood& table,
                                            const LikelihoodPeak& peak,
                                            double exact_edges) {
  constexpr double kParameters = 4.0;  // two slopes, two intercepts
  if (!estimator.has_falls()) return std::nullopt;
  const auto apart =
      differing_peaks(table, peak,
                      threshold(1.0 - kPolaritiesByChance, exact_edges,
                                estimator.edges(), kParameters));
  if (!apart) return std::nullopt;
  return PolaritySlopes{estimator.slope_of(apart->rise),
                        estimator.slope_of(apart->fall)};
}

/// Whether at jitter changed by this factor the likelihood has fallen from its
/// peak as that of a normal logarithm of sigma would, to within a half. Where
/// slope and jitter are hardly told apart it falls on one side only.
bool falls_at(const WindowLikelihood& table, const LikelihoodPeak& peak,
              double factor, double standard_uncertainty) {
  JitterLine at = peak.line;
  at.sigma *= factor;
  const double steps = std::log(factor) / standard_uncertainty;
  return peak.log - table.peak_at_sigma(at).log > 0.25 * steps * steps;
}

/// What the likelihood says of jitter where it shows. Of sigma it is the
/// largest, which is too small where edges are few: n exact edges and p
/// parameters leave n - p degrees of freedom.
EdgeJitter jitter_at(const Estimator& estimator, const WindowLikelihood& table,
                     const LikelihoodPeak& peak, double exact_edges,
                     double parameters) {
  constexpr double kFewest = 8.0;     // degrees of freedom; chosen: u is 1/4
  constexpr double kResolved = 0.25;  // chosen: ln sigma is then normal enough
  const auto variance = table.sigma_variance(peak.line);
  const double sigma = peak.line.sigma;
  const double dof = exact_edges - parameters;
  const double relative = variance ? std::sqrt(*variance) / sigma : 1.0;
  // With half of all that exact edges would say windows hardly matter.
  const bool resolved = dof >= kFewest && relative < kResolved &&
                        (exact_edges > 0.5 * estimator.edges() ||
                         (falls_at(table, peak, 0.5, relative) &&
                          falls_at(table, peak, 2.0, relative)));
  EdgeJitter jitter;
  if (resolved) {
    const double rms =
        sigma * estimator.window() * std::sqrt(exact_edges / dof);
    jitter.rms = rms;
    // What windows show of jitter may be less than they show of place.
    const double own = std::min(dof, 0.5 / (relative * relative));
    jitter.standard_uncertainty = rms / std::sqrt(2.0 * own);
    jitter.upper_limit = rms * upper_factor(own);
    return jitter;
  }
  Estimator own = estimator;
  if (const auto most = largest_sigma(own, peak, exact_edges, parameters)) {
    jitter.upper_limit = *most * estimator.window();
  }
  return jitter;
}

/// Where there is none.
LikelihoodEstimate estimate_by_peak(Estimator& estimator, const LineFit& line,
                                    const FeasibleSet& set, double rms,
                                    double parameters) {
  /// Chosen: from here on the curvature at the peak may stand for the rest.
  constexpr double kManyEdges = 64.0;
  estimator.refer_to(line, 0.25);
  WindowLikelihood table = estimator.tabulate_first();
  const LikelihoodPeak peak = estimator.find_peak(rms, table);
  LikelihoodEstimate e;
  e.sigma = peak.line.sigma * estimator.window();
  e.peak = estimator.lines_of(peak.line);
  e.exact_edges = table.exact_edges(peak.line);
  e.scores = table.scores(peak.line, kScatterParts);
  const double q = threshold(kHalfWidthCoverage, e.exact_edges,
                             estimator.edges(), parameters);
  e.polarities = polarities_at(estimator, table, peak, e.exact_edges);
  e.contradicted = contradict_line(table.terms(peak.line)) ||
                   estimator.neighbours_depend(peak.line);
  e.jitter = jitter_at(estimator, table, peak, e.exact_edges, parameters);
  const auto variance = table.slope_variance(peak.line);
  const double half = variance ? std::sqrt(q * *variance) : 0.0;
  const double at = peak.line.slope;
  e.slope = estimator.slope_of(at);
  if (e.exact_edges > kManyEdges && half > 0.0 &&
      is_parabola(table, peak, at - half, q) &&
      is_parabola(table, peak, at + half, q)) {
    e.low = estimator.slope_of(at - half);
    e.high = estimator.slope_of(at + half);
    return e;
  }
  const double limit_low = estimator.in_table(set.wide.low.value());
  const double limit_high = estimator.in_table(set.wide.high.value());
  const double step = half > 0.0 ? half : 1.0 / estimator.edges();
  const ProfileEnd end(table, peak.log, q, peak.line.sigma);
  const double low = end.find(peak.line, -step, limit_low);
  const double high = end.find(peak.line, step, limit_high);
  e.slope =
      estimator.slope_of(mean_slope(table, peak.line, peak.log, low, high));
  e.low = estimator.slope_of(low);
  e.high = estimator.slope_of(high);
  return e;
}

}  // namespace

LikelihoodEstimate estimate_by_likelihood(
    const EdgeView& view, const EdgeSums& sums, const LineFit& line,
    const FeasibleSet& set, const ViewExtremes& extremes, double window,
    const ParallelFor& parallel_for) {
  Estimator estimator(view, sums, extremes, window, parallel_for);
  const double parameters = sums.fall.n > 0 ? 3.0 : 2.0;
  if (set.mean_slope) return estimate_in_set(estimator, set, parameters);
  const double rms =
      std::sqrt(line.residual_squares / estimator.edges()) / window;
  return estimate_by_peak(estimator, line, set, rms, parameters);
}

}  // namespace clockassay
