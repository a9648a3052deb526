// SPDX-License-Identifier: GPL-3.0-or-later
#include "estimate/part_sums.h"

#include "estimate/steady_sums.h"

namespace clockassay {

PartSums sum_range(const SteadyEdges& edges, std::size_t first, std::size_t end,
                   std::int64_t limit) {
  const OffsetSums sums = sum_offsets(edges.offset.subspan(first, end - first));
  PartSums part;
  part.too_far = edges.y0 + sums.low <= -limit || edges.y0 + sums.high >= limit;
  if (!part.too_far) part.sums.add_shifted(sums.line, edges.k(first), edges.y0);
  return part;
}

PartSums sum_range(const AnyEdges& edges, std::size_t first, std::size_t end,
                   std::int64_t limit) {
  PartSums part;
  for (std::size_t i = first; i < end; ++i) {
    part.too_far |= edges.y(i) <= -limit || edges.y(i) >= limit;
  }
  if (part.too_far) return part;
  for (std::size_t i = first; i < end; ++i) {
    part.sums.add(edges.k(i), edges.y(i));
  }
  return part;
}

}  // namespace clockassay
