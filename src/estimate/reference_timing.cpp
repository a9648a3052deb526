// SPDX-License-Identifier: GPL-3.0-or-later
#include "estimate/reference_timing.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <utility>
#include <vector>

#include "clockassay/estimate/residual_pass.h"
#include "clockassay/estimate/student_t.h"
#include "clockassay/estimate/wander.h"
#include "estimate/reference_track.h"
#include "estimate/sampling_resonance.h"
#include "estimate/scatter.h"

namespace clockassay {
namespace {

/// Corrected times are whole numbers of this many to the tick where a window is
/// shorter than as many ticks, so that sums stay exact. Chosen: far below what
/// sampling leaves.
constexpr std::int64_t kUnits = 1024;

struct PartSums {
  LineSums rise;
  LineSums fall;
};

/// Sums of the corrected times, by part of the view.
using TimedParts = std::array<PartSums, kScatterParts>;

/// The clock's own frame, and how to take the reference's time off.
struct Timing {
  const TimedView& clock;
  const EdgeSums& sums;  ///< of the clock
  const ReferenceTrack& track;
  double tick_ratio;   ///< ticks of the reference in one of the clock
  std::int64_t units;  ///< of y, to the tick
  /// What falling edges are taken off by, so that sums stay small: a whole
  /// number of ticks near the high time. They have an intercept of their own.
  std::int64_t high_ticks;
  std::int64_t limit;  ///< of y in units
};

struct BlockSums {
  std::vector<std::pair<std::size_t, PartSums>> parts;
  bool out_of_range = false;
};

void sum_polarity(const Timing& t, const BlockEdges& edges,
                  const EdgeArray& array, LineSums PartSums::*sums,
                  std::int64_t base, BlockSums& out) {
  const Int128 span = Int128(t.sums.last_cycle) - t.sums.first_cycle + 1;
  const auto before =
      static_cast<double>((edges.first_tick - t.clock.origin).count());
  for (std::size_t i = 0; i < array.count; ++i) {
    const auto offset = t.track.offset(
        (before + static_cast<double>(array.tick[i])) * t.tick_ratio);
    if (!offset) continue;
    const std::int64_t k = t.sums.frame.k(edges.first_cycle, array.cycle[i]);
    const std::int64_t y = t.sums.frame.y(edges.first_cycle, edges.first_tick,
                                          array.cycle[i], array.tick[i]) -
                           base;
    const double moved = static_cast<double>(t.units) * *offset / t.tick_ratio;
    if (std::abs(y) >= t.limit / (2 * t.units) ||
        std::abs(moved) >= 0.5 * static_cast<double>(t.limit)) {
      out.out_of_range = true;
      return;
    }
    // The falling edge of the last cycle belongs to the last part, too.
    const auto part = static_cast<std::size_t>(std::clamp<Int128>(
        (Int128(k) - t.sums.first_cycle) * Int128(kScatterParts) / span, 0,
        Int128(kScatterParts) - 1));
    if (out.parts.empty() || out.parts.back().first != part) {
      out.parts.emplace_back(part, PartSums{});
    }
    (out.parts.back().second.*sums).add(k, y * t.units - std::llround(moved));
  }
}

std::optional<TimedParts> sum_timed(const Timing& t,
                                    const ParallelFor& parallel_for) {
  std::vector<BlockSums> blocks(t.clock.view.block_count());
  parallel_for(blocks.size(), [&](std::size_t i) {
    BlockEdges edges;
    t.clock.view.read_block(i, edges);
    sum_polarity(t, edges, edges.rise, &PartSums::rise, 0, blocks[i]);
    sum_polarity(t, edges, edges.fall, &PartSums::fall, t.high_ticks,
                 blocks[i]);
  });
  TimedParts parts;
  for (const BlockSums& block : blocks) {
    if (block.out_of_range) return std::nullopt;
    for (const auto& [part, sums] : block.parts) {
      parts[part].rise.add_shifted(sums.rise, 0, 0);
      parts[part].fall.add_shifted(sums.fall, 0, 0);
    }
  }
  return parts;
}

/// How far the edges of a part are off the line, summed.
double off_line(const LineSums& s, double slope, double intercept) {
  return static_cast<double>(s.y) - slope * static_cast<double>(s.k) -
         static_cast<double>(s.n) * intercept;
}

/// Half-width of the slope, in units of y, by the scatter of the parts' means.
/// Edges between the same two knots of the reference share their noise, so that
/// only the means of parts are independent, and neighbouring parts still share
/// half a knot: with m of them to a part their correlation of about 1/(4 m)
/// makes the slope's variance m/(m - 1/2) times as large.
struct PartScatter {
  double half_width = 0.0;
  bool coloured = false;
};

PartScatter scatter_of(const TimedParts& parts, const LineFit& line,
                       double cycles, double knots_per_part) {
  std::vector<PartScore> scores;
  double squares = 0.0;
  int filled = 0;
  for (const PartSums& part : parts) {
    const auto n = static_cast<double>(part.rise.n + part.fall.n);
    const double off =
        off_line(part.rise, line.slope, line.rise_intercept) +
        off_line(part.fall, line.slope, line.fall_intercept.value_or(0.0));
    scores.push_back({off, n});
    if (n == 0.0) continue;
    squares += off * off / n;
    ++filled;
  }
  PartScatter out;
  const double dof = filled - 2.0;
  const double variance = squares / dof;
  out.half_width = student_t_two_sided(kHalfWidthCoverage, dof) *
                   std::sqrt(variance * line.slope_variance * knots_per_part /
                             (knots_per_part - 0.5));
  if (variance <= 0.0) return out;
  for (PartScore& score : scores) {
    score.score /= variance;
    score.information /= variance;
  }
  out.coloured = is_scattered(scores);
  if (!out.coloured) return out;
  if (const auto width = scatter_half_width(scores, 0.0, 0.0)) {
    out.half_width = std::max(out.half_width, *width / cycles);
  }
  return out;
}

/// Where the residuals are far below what sampling leaves when its phases are
/// met evenly, few of them are met, and a slope of as much as both windows over
/// the view may not show.
double unresolved(const LineFit& line, double clock_window,
                  double reference_window, double cycles) {
  constexpr double kFar = 0.25;     // chosen, of the variance
  constexpr double kBetween = 0.5;  // midway between two edges
  const double even = (clock_window * clock_window +
                       kBetween * reference_window * reference_window) /
                      12.0;
  const double seen = line.residual_squares / static_cast<double>(line.dof);
  return seen < kFar * even ? (clock_window + reference_window) / cycles : 0.0;
}

/// One of the two channels by itself, in the capture's own time.
struct Alone {
  EdgeSums sums;
  LineFit line;                 ///< of the rising edges
  std::vector<LineSums> parts;  ///< of them
  double period_ticks = 0.0;

  double cycles() const {
    return static_cast<double>(sums.last_cycle - sums.first_cycle);
  }
};

std::optional<Alone> alone(const TimedView& v,
                           const ParallelFor& parallel_for) {
  const auto sums = sum_edges(v.view, parallel_for);
  if (!sums || sums->rise.n < kFewestTimedEdges) return std::nullopt;
  const auto line = fit_line(sums->rise, LineSums{});
  if (!line) return std::nullopt;
  return Alone{*sums, *line,
               sum_equal_parts(v.view, *sums, kScatterParts, parallel_for),
               static_cast<double>(sums->frame.period) + line->slope};
}

/// How far sampling may move the slope of one channel while the time wanders as
/// the other shows it, relative.
double resonance(const TimedView& v, const Alone& own, const TimedView& other,
                 const Alone& shows, const ParallelFor& parallel_for) {
  if (!v.scale.sample_ticks) return 0.0;
  const double sample = v.scale.sample_ticks->to_double();
  const double scale =
      other.scale.tick_s.to_double() / v.scale.tick_s.to_double() / sample;
  std::vector<double> path;
  for (const LineSums& part : shows.parts) {
    // A part without edges says nothing new.
    const double last = path.empty() ? 0.0 : path.back();
    path.push_back(part.n == 0 ? last
                               : scale / static_cast<double>(part.n) *
                                     off_line(part, shows.line.slope,
                                              shows.line.rise_intercept));
  }
  const SamplerPhases phases(own.period_ticks / sample,
                             own.sums.last_cycle - own.sums.first_cycle,
                             std::move(path));
  double jitter = least_jitter(own.parts, sample, phases.few);
  if (const auto quick =
          quick_variance(v.view, own.sums.frame, sample, parallel_for)) {
    jitter = certain_jitter(phases, jitter, *quick);
  }
  return sampling_resonance(phases, jitter) * sample /
         (own.cycles() * own.period_ticks);
}

/// Edges of the reference in a period of the clock.
double edges_beside(const CommonViews& views, const Alone& clock,
                    const Alone& reference) {
  return clock.period_ticks / reference.period_ticks *
         views.clock.scale.tick_s.to_double() /
         views.reference.scale.tick_s.to_double();
}

/// The line through the timed edges, and its half-width.
std::optional<ReferenceTiming> timing_from(const TimedParts& parts,
                                           const Timing& t,
                                           const CommonViews& views,
                                           double reference_period_s) {
  LineSums rise, fall;
  for (const PartSums& part : parts) {
    rise.add_shifted(part.rise, 0, 0);
    fall.add_shifted(part.fall, 0, 0);
  }
  const auto line = fit_line(rise, fall);
  if (!line || line->dof < 1) return std::nullopt;
  const auto units = static_cast<double>(t.units);
  const auto cycles =
      static_cast<double>(t.sums.last_cycle - t.sums.first_cycle);
  const double clock_window =
      units * views.clock.scale.window_ticks.to_double();
  const double reference_window =
      units * views.reference.scale.window_ticks.to_double() / t.tick_ratio;
  const PartScatter scatter =
      scatter_of(parts, *line, cycles,
                 static_cast<double>(t.track.knots()) / kScatterParts);
  const double period =
      static_cast<double>(t.sums.frame.period) + line->slope / units;
  ReferenceTiming timing;
  timing.ratio =
      reference_period_s / (period * views.clock.scale.tick_s.to_double());
  timing.half_width =
      std::max(scatter.half_width,
               unresolved(*line, clock_window, reference_window, cycles)) /
      units / period;
  if (!scatter.coloured) return timing;
  std::vector<LineSums> rises;
  for (const PartSums& part : parts) rises.push_back(part.rise);
  const auto wander =
      find_wander(rises, line->slope, clock_window + reference_window);
  if (wander) timing.wander = *wander / units / period;
  return timing;
}

}  // namespace

std::optional<ReferenceTiming> time_by_reference(
    const CommonViews& views, const ParallelFor& parallel_for) {
  const auto reference = alone(views.reference, parallel_for);
  const auto clock = alone(views.clock, parallel_for);
  if (!reference || !clock) return std::nullopt;
  const ReferenceTrack track(
      views.reference.view, reference->sums, reference->line,
      views.reference.origin,
      edges_per_knot(edges_beside(views, *clock, *reference),
                     reference->sums.rise.n),
      parallel_for);
  const double tick_s = views.reference.scale.tick_s.to_double();
  const bool fine = views.clock.scale.window_ticks < Rational(kUnits);
  const LineSums& fall = clock->sums.fall;
  const Timing t{
      views.clock,
      clock->sums,
      track,
      views.clock.scale.tick_s.to_double() / tick_s,
      fine ? kUnits : 1,
      fall.n == 0 ? 0 : static_cast<std::int64_t>(fall.y / fall.n),
      largest_residual(clock->sums.last_cycle - clock->sums.first_cycle)};
  const auto parts = sum_timed(t, parallel_for);
  if (!parts) return std::nullopt;
  auto timing = timing_from(*parts, t, views, reference->period_ticks * tick_s);
  if (!timing) return std::nullopt;
  timing->half_width =
      std::hypot(timing->half_width,
                 std::hypot(resonance(views.clock, *clock, views.reference,
                                      *reference, parallel_for),
                            resonance(views.reference, *reference, views.clock,
                                      *clock, parallel_for)));
  return timing;
}

}  // namespace clockassay
