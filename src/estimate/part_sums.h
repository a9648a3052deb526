// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <cstddef>
#include <cstdint>
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

/// In: one edge or more; limit at most kMostResidual
PartSums sum_part(std::size_t part, const SteadyEdges& edges,
                  std::int64_t limit);
PartSums sum_part(std::size_t part, const AnyEdges& edges, std::int64_t limit);

/// A block's edges part by part. In: part_of(k), which never decreases
template <class Edges, class PartOf>
std::vector<PartSums> sum_parts(const Edges& edges, const PartOf& part_of,
                                std::int64_t limit) {
  std::vector<PartSums> parts;
  for_each_part(edges, part_of, [&](std::size_t part, const Edges& of_part) {
    parts.push_back(sum_part(part, of_part, limit));
  });
  return parts;
}

}  // namespace clockassay
