// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <algorithm>
#include <cstddef>
#include <cstdint>
#include <ranges>
#include <vector>

#include "clockassay/estimate/edge_sums.h"
#include "estimate/frame_block.h"

namespace clockassay {

/// Exact sums of those edges of a block that belong to one part of a view.
struct PartSums {
  std::size_t part = 0;
  LineSums sums;
  /// Some y reach the limit: there are no sums then.
  bool too_far = false;
};

/// Edges first … end - 1, one or more. In: limit at most kMostResidual
PartSums sum_range(const SteadyEdges& edges, std::size_t first, std::size_t end,
                   std::int64_t limit);
PartSums sum_range(const AnyEdges& edges, std::size_t first, std::size_t end,
                   std::int64_t limit);

/// A block's edges part by part. In: part_of(k), which never decreases
template <class Edges, class PartOf>
std::vector<PartSums> sum_parts(const Edges& edges, const PartOf& part_of,
                                std::int64_t limit) {
  std::vector<PartSums> parts;
  const std::size_t n = edges.count();
  for (std::size_t at = 0; at < n;) {
    const std::size_t part = part_of(edges.k(at));
    const auto later = std::views::iota(at, n);
    const auto end = std::partition_point(
        later.begin(), later.end(),
        [&](std::size_t i) { return part_of(edges.k(i)) == part; });
    const std::size_t next = end == later.end() ? n : *end;
    parts.push_back(sum_range(edges, at, next, limit));
    parts.back().part = part;
    at = next;
  }
  return parts;
}

}  // namespace clockassay
