// SPDX-License-Identifier: GPL-3.0-or-later
#include "clockassay/estimate/view_extremes.h"

#include <algorithm>
#include <cmath>
#include <limits>

#include "estimate/frame_block.h"
#include "estimate/steady_sums.h"

namespace clockassay {
namespace {

template <class Edges>
LineExtremes extremes(const Edges& edges, double slope) {
  LineExtremes e;
  if (edges.count() == 0) return e;
  e.any = true;
  const auto k_first = static_cast<double>(edges.k(0));
  const auto k_last = static_cast<double>(edges.k(edges.count() - 1));
  e.middle = 0.5 * (k_first + k_last);
  e.reach = 0.5 * (k_last - k_first);
  const OffsetRange range = range_along(edges, slope);
  e.top = range.high;
  e.bottom = range.low;
  return e;
}

double rounding_bound(const std::vector<BlockExtremes>& blocks) {
  double largest = 1.0;
  for (const BlockExtremes& b : blocks) {
    for (const LineExtremes* e : {&b.rise, &b.fall}) {
      if (!e->any) continue;
      largest = std::max({largest, std::abs(e->top), std::abs(e->bottom),
                          std::abs(e->middle) + e->reach});
    }
  }
  // At most four roundings of numbers below twice the largest, with room.
  return 16.0 * std::numeric_limits<double>::epsilon() * largest;
}

}  // namespace

ViewExtremes find_extremes(const EdgeView& view, const EdgeFrame& frame,
                           double slope, const ParallelFor& parallel_for) {
  ViewExtremes found;
  found.slope = slope;
  found.blocks.resize(view.block_count());
  parallel_for(found.blocks.size(), [&](std::size_t i) {
    FrameBlock block;
    block.read(view, i, frame);
    block.visit([&](const auto& rise, const auto& fall) {
      found.blocks[i] = {extremes(rise, slope), extremes(fall, slope)};
    });
  });
  found.rounding = rounding_bound(found.blocks);
  return found;
}

}  // namespace clockassay
