// SPDX-License-Identifier: GPL-3.0-or-later
#include "estimate/reference_track.h"

#include <algorithm>
#include <cassert>
#include <cmath>
#include <limits>
#include <utility>

namespace clockassay {
namespace {

/// Edges of one knot within one block.
using KnotSums = std::pair<std::int64_t, LineSums>;

std::vector<KnotSums> sum_block(const EdgeView& view, std::size_t index,
                                const EdgeSums& sums, std::int64_t per_knot) {
  BlockEdges edges;
  view.read_block(index, edges);
  std::vector<KnotSums> knots;
  for (std::size_t i = 0; i < edges.rise.count; ++i) {
    const std::int64_t cycle = edges.rise.cycle[i];
    const std::int64_t k = sums.frame.k(edges.first_cycle, cycle);
    const std::int64_t knot = (k - sums.first_cycle) / per_knot;
    if (knots.empty() || knots.back().first != knot) {
      knots.emplace_back(knot, LineSums{});
    }
    knots.back().second.add(k, sums.frame.y(edges.first_cycle, edges.first_tick,
                                            cycle, edges.rise.tick[i]));
  }
  return knots;
}

}  // namespace

std::int64_t edges_per_knot(double reference_edges_per_period,
                            std::int64_t reference_edges) {
  return std::max<std::int64_t>(
      {1, std::llround(reference_edges_per_period),
       (reference_edges + kMostKnots - 1) / kMostKnots});
}

ReferenceTrack::ReferenceTrack(const EdgeView& view, const EdgeSums& sums,
                               const LineFit& line, Ticks origin,
                               std::int64_t edges_per_knot,
                               const ParallelFor& parallel_for) {
  std::vector<std::vector<KnotSums>> blocks(view.block_count());
  parallel_for(blocks.size(), [&](std::size_t i) {
    blocks[i] = sum_block(view, i, sums, edges_per_knot);
  });
  std::vector<KnotSums> all;
  for (const auto& block : blocks) {
    for (const KnotSums& part : block) {
      if (all.empty() || all.back().first != part.first) {
        all.push_back(part);
      } else {
        all.back().second.add_shifted(part.second, 0, 0);
      }
    }
  }
  const auto period = static_cast<double>(sums.frame.period);
  const auto begin = static_cast<double>((sums.frame.origin - origin).count());
  for (const auto& [unused, s] : all) {
    const auto n = static_cast<double>(s.n);
    const double k = static_cast<double>(s.k) / n;
    const double y = static_cast<double>(s.y) / n;
    knots_.push_back(
        {begin + period * k + y, y - line.slope * k - line.rise_intercept});
  }
}

std::optional<double> ReferenceTrack::offset(double instant) const {
  return offset(std::upper_bound(knots_.begin(), knots_.end(), instant,
                                 [](double at, const Knot& knot) {
                                   return at < knot.instant;
                                 }),
                instant);
}

void ReferenceTrack::offsets(std::span<const double> instants,
                             std::span<double> out) const {
  constexpr double kAbsent = std::numeric_limits<double>::quiet_NaN();
  assert(instants.size() == out.size());
  std::optional<Place> after;
  for (std::size_t i = 0; i < instants.size(); ++i) {
    out[i] = kAbsent;
    const double instant = instants[i];
    if (std::isnan(instant)) continue;
    const auto is_later = [&](const Knot& knot) {
      return instant < knot.instant;
    };
    after = after ? std::find_if(*after, knots_.end(), is_later)
                  : std::partition_point(
                        knots_.begin(), knots_.end(),
                        [&](const Knot& knot) { return !is_later(knot); });
    out[i] = offset(*after, instant).value_or(kAbsent);
  }
}

std::optional<double> ReferenceTrack::offset(Place after,
                                             double instant) const {
  if (after == knots_.begin()) return std::nullopt;
  const auto before = after - 1;
  if (after == knots_.end()) {
    if (instant > before->instant) return std::nullopt;
    return before->offset;
  }
  const double share =
      (instant - before->instant) / (after->instant - before->instant);
  return before->offset + share * (after->offset - before->offset);
}

}  // namespace clockassay
