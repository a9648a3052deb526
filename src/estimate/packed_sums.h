// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <cstddef>
#include <cstdint>
#include <optional>
#include <vector>

#include "clockassay/edges/edge_store.h"
#include "clockassay/estimate/edge_sums.h"
#include "estimate/frame_block.h"
#include "estimate/part_sums.h"

namespace clockassay {

/// Sums over all edges of a packed block, as points of a frame, without their
/// being read. Those of a line are over (k - k0, y - y0).
struct PackedSums {
  std::int64_t k0 = 0;  ///< of the first edge
  std::int64_t count = 0;
  std::int64_t rise_y0 = 0;
  std::int64_t fall_y0 = 0;
  LineSums rise;
  LineSums fall;
  PeriodSums periods;
  std::vector<NumberedEdge> ends;  ///< the first and the last two rising edges
};

/// None where the block carries no sums, is not in the view with all its
/// rising edges, or some y might reach the limit. In: i below block_count()
std::optional<PackedSums> packed_sums(const EdgeView& view, std::size_t i,
                                      const EdgeFrame& frame,
                                      std::int64_t limit);

/// The rising edges of a block, part by part.
struct BlockParts {
  std::int64_t first = 1;  ///< k of the first and last of them; none: 1, 0
  std::int64_t last = 0;
  std::vector<PartSums> parts;
};

/// In: part_of(k), which never decreases; limit at most kMostResidual
template <class PartOf>
BlockParts sum_block_parts(const EdgeView& view, std::size_t i,
                           const EdgeFrame& frame, const PartOf& part_of,
                           std::int64_t limit) {
  const auto packed = packed_sums(view, i, frame, limit);
  if (packed) {
    const std::int64_t last = packed->k0 + packed->count - 1;
    const std::size_t part = part_of(packed->k0);
    if (part == part_of(last)) {
      PartSums sums;
      sums.part = part;
      sums.sums.add_shifted(packed->rise, packed->k0, packed->rise_y0);
      return {packed->k0, last, {sums}};
    }
  }
  BlockParts found;
  FrameBlock block;
  block.read(view, i, frame);
  block.visit([&](const auto& rise, const auto&) {
    if (rise.count() == 0) return;
    found = {rise.k(0), rise.k(rise.count() - 1),
             sum_parts(rise, part_of, limit)};
  });
  return found;
}

}  // namespace clockassay
