// SPDX-License-Identifier: GPL-3.0-or-later
#include "estimate/view_estimate.h"

#include <algorithm>
#include <cmath>
#include <utility>

#include "clockassay/estimate/wander.h"

namespace clockassay {
namespace {

Result<ViewEstimate> estimate_together(const EdgeView& view,
                                       const EdgeWindow& window,
                                       const ParallelFor& parallel_for) {
  auto summed = sum_edges(view, parallel_for);
  if (!summed) return tl::unexpected(summed.error());
  const auto line = fit_line(summed->rise, summed->fall);
  if (!line) return tl::unexpected(line.error());
  ViewEstimate v;
  v.sums = std::move(*summed);
  v.line = *line;
  v.extremes = find_extremes(view, v.sums.frame, line->slope, parallel_for);
  v.set = find_feasible_set(view, v.sums.frame, v.extremes, window.units,
                            parallel_for);
  const auto parts = static_cast<std::size_t>(std::clamp<std::int64_t>(
      v.sums.rise.n / static_cast<std::int64_t>(kWanderPartEdges), 1,
      static_cast<std::int64_t>(kWanderParts)));
  v.residuals = pass_residuals(view, v.sums, v.extremes, parts, parallel_for);
  v.period =
      estimate_period(view, v.sums, v.line, v.set, v.extremes, v.residuals,
                      window.ticks, window.is_exact, parallel_for);
  return v;
}

void keep_larger(std::optional<double>& value,
                 const std::optional<double>& other) {
  if (other) value = std::max(value.value_or(0.0), *other);
}

/// The estimate by one polarity, as a slope of the frame of both.
Result<PeriodEstimate> estimate_polarity(const EdgeView& view,
                                         Polarity polarity,
                                         const EdgeFrame& frame,
                                         const EdgeWindow& window,
                                         const ParallelFor& parallel_for) {
  const EdgeView only = view.only(polarity);
  auto one = estimate_together(only, window, parallel_for);
  if (!one) return tl::unexpected(one.error());
  one->period.slope +=
      static_cast<double>(one->sums.frame.period - frame.period);
  return one->period;
}

bool contains(const PeriodEstimate& p, double slope) {
  return std::abs(slope - p.slope) <= p.half_width;
}

/// What contains both, each with its own half-width.
PeriodEstimate contain(const PeriodEstimate& p, const PeriodEstimate& rise,
                       const PeriodEstimate& fall) {
  const double low =
      std::min(rise.slope - rise.half_width, fall.slope - fall.half_width);
  const double high =
      std::max(rise.slope + rise.half_width, fall.slope + fall.half_width);
  PeriodEstimate both = p;
  both.slope = 0.5 * (low + high);
  both.half_width = 0.5 * (high - low);
  both.polarities = PolaritySlopes{rise.slope, fall.slope};
  both.scatter = rise.scatter;
  keep_larger(both.scatter, fall.scatter);
  // Off the slope of both each would seem to wander all the time.
  both.wander = rise.wander;
  keep_larger(both.wander, fall.wander);
  return both;
}

}  // namespace

Result<ViewEstimate> estimate_view(const EdgeView& view,
                                   const EdgeWindow& window,
                                   const ParallelFor& parallel_for) {
  auto v = estimate_together(view, window, parallel_for);
  if (!v) return v;
  const auto apart = std::exchange(v->period.polarities, std::nullopt);
  if (!apart ||
      (contains(v->period, apart->rise) && contains(v->period, apart->fall))) {
    return v;
  }
  const EdgeFrame& frame = v->sums.frame;
  const auto rise =
      estimate_polarity(view, Polarity::kRising, frame, window, parallel_for);
  const auto fall =
      estimate_polarity(view, Polarity::kFalling, frame, window, parallel_for);
  if (!rise) return tl::unexpected(rise.error());
  if (!fall) return tl::unexpected(fall.error());
  v->period = contain(v->period, *rise, *fall);
  return v;
}

}  // namespace clockassay
