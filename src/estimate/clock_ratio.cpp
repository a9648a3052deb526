// SPDX-License-Identifier: GPL-3.0-or-later
#include "clockassay/estimate/clock_ratio.h"

#include <algorithm>
#include <cmath>
#include <cstddef>
#include <cstdint>
#include <memory>

#include "estimate/reference_timing.h"

namespace clockassay {
namespace {

/// A rising edge: seconds since the origin, and its number.
struct End {
  double time_s = 0.0;
  std::int64_t cycle = 0;
};

struct Ends {
  End first;
  End last;
  double period_s() const {
    return (last.time_s - first.time_s) /
           static_cast<double>(last.cycle - first.cycle);
  }
};

/// The first or the last rising edge of a view that has one.
std::optional<End> end_of(const TimedView& v, bool last) {
  const auto edges = std::make_unique<BlockEdges>();
  const std::size_t n = v.view.block_count();
  for (std::size_t i = 0; i < n; ++i) {
    v.view.read_block(last ? n - 1 - i : i, *edges);
    if (edges->rise.count == 0) continue;
    const std::size_t at = last ? edges->rise.count - 1 : 0;
    const std::int64_t tick =
        (edges->first_tick - v.origin).count() + edges->rise.tick[at];
    return End{static_cast<double>(tick) * v.scale.tick_s.to_double(),
               edges->first_cycle.count() + edges->rise.cycle[at]};
  }
  return std::nullopt;
}

std::optional<Ends> ends_of(const TimedView& v) {
  const auto first = end_of(v, false);
  const auto last = end_of(v, true);
  if (!first || last->cycle <= first->cycle) return std::nullopt;
  return Ends{*first, *last};
}

/// The part of a view from one time to another, half a tick about them.
TimedView cut(const TimedView& v, double from_s, double to_s) {
  const double tick_s = v.scale.tick_s.to_double();
  const auto tick = [&](double time_s) {
    return v.origin + Ticks(std::llround(time_s / tick_s));
  };
  return {v.view.part(tick(from_s), tick(to_s)), v.scale, v.origin};
}

double relative_half_width(const ClockEstimate& e) {
  return e.frequency.half_width / e.frequency.frequency;
}

/// Whether jitter of both is so large that sampling hardly matters.
bool jitter_much(const ClockEstimate& a, const ClockEstimate& b) {
  return a.frequency.method == EstimateMethod::kLeastSquares &&
         b.frequency.method == EstimateMethod::kLeastSquares;
}

/// Jitter of the capture's time itself, which both channels show, is white as
/// far as each can tell. Timed edges lose it. Jitter of their own makes the
/// half-width of timed edges no less than that of both apart, give or take
/// 13 % for 30 degrees of freedom: half of it is four deviations away.
constexpr double kMostlyCommon = 0.5;

}  // namespace

std::optional<CommonViews> common_window(const TimedView& clock,
                                         const TimedView& reference) {
  const auto clock_ends = ends_of(clock);
  const auto reference_ends = ends_of(reference);
  if (!clock_ends || !reference_ends) return std::nullopt;
  const double step =
      std::min(clock_ends->period_s(), reference_ends->period_s());
  const double from =
      std::max(clock_ends->first.time_s, reference_ends->first.time_s) - step;
  const double to =
      std::min(clock_ends->last.time_s, reference_ends->last.time_s) + step;
  if (from >= to) return std::nullopt;
  CommonViews views{cut(clock, from, to), cut(reference, from, to)};
  // The slower one has edges near neither end: the other is cut to what it
  // has, which neither moves by more than a period of the faster one.
  const bool clock_is_slower =
      clock_ends->period_s() > reference_ends->period_s();
  const auto slower = ends_of(clock_is_slower ? views.clock : views.reference);
  if (!slower) return std::nullopt;
  TimedView& faster = clock_is_slower ? views.reference : views.clock;
  faster = cut(faster, slower->first.time_s, slower->last.time_s);
  if (!ends_of(faster)) return std::nullopt;
  return views;
}

ClockRatio relate_clocks(const CommonViews& views, const ClockEstimate& clock,
                         const ClockEstimate& reference,
                         const ParallelFor& parallel_for) {
  ClockRatio ratio;
  ratio.value = clock.frequency.frequency / reference.frequency.frequency;
  ratio.clock_half_width = relative_half_width(clock);
  ratio.reference_half_width = relative_half_width(reference);
  ratio.common_wander = reference.wander ? reference.wander : clock.wander;
  const bool wanders =
      clock.scattered || reference.scattered || ratio.common_wander;
  if (!wanders && !jitter_much(clock, reference)) return ratio;
  const auto timing = time_by_reference(views, parallel_for);
  if (!timing) return ratio;
  const double apart =
      std::hypot(ratio.clock_half_width, ratio.reference_half_width);
  if (!wanders && timing->half_width > kMostlyCommon * apart) return ratio;
  ratio.value = timing->ratio;
  ratio.clock_half_width = timing->half_width;
  ratio.reference_half_width = 0.0;
  ratio.timed_by_reference = true;
  ratio.own_wander = timing->wander;
  // What only the clock shows, and still when it is timed, is its own.
  if (timing->wander) ratio.common_wander = reference.wander;
  return ratio;
}

}  // namespace clockassay
