// SPDX-License-Identifier: GPL-3.0-or-later
#include "estimate/part_sums.h"

#include "estimate/steady_sums.h"

namespace clockassay {

PartSums sum_part(std::size_t part, const SteadyEdges& edges,
                  std::int64_t limit) {
  const OffsetSums sums = sum_offsets(edges.offset);
  PartSums out;
  out.part = part;
  out.too_far = edges.y0 + sums.low <= -limit || edges.y0 + sums.high >= limit;
  if (!out.too_far) {
    out.sums.add_shifted(line_sums(sums, edges.count()), edges.k0, edges.y0);
  }
  return out;
}

PartSums sum_part(std::size_t part, const AnyEdges& edges, std::int64_t limit) {
  PartSums out;
  out.part = part;
  for (std::size_t i = 0; i < edges.count(); ++i) {
    out.too_far |= edges.y(i) <= -limit || edges.y(i) >= limit;
  }
  if (out.too_far) return out;
  for (std::size_t i = 0; i < edges.count(); ++i) {
    out.sums.add(edges.k(i), edges.y(i));
  }
  return out;
}

}  // namespace clockassay
