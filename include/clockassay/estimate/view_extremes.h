// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <vector>

#include "clockassay/base/parallel.h"
#include "clockassay/edges/edge_store.h"
#include "clockassay/estimate/edge_sums.h"

namespace clockassay {

/// How far edges of one polarity lie from a line, within a block.
struct LineExtremes {
  bool any = false;     ///< there are edges
  double middle = 0.0;  ///< of their k
  double reach = 0.0;   ///< half the extent of their k
  double top = 0.0;     ///< largest y - k * slope [ticks]
  double bottom = 0.0;  ///< smallest
};

struct BlockExtremes {
  LineExtremes rise;
  LineExtremes fall;
};

/// The same of a whole view: what later passes need to know of a block before
/// they look at its edges.
struct ViewExtremes {
  double slope = 0.0;                 ///< of the frame
  std::vector<BlockExtremes> blocks;  ///< of the view, in order
  double rounding = 0.0;              ///< bound on that of y - k * slope
};

/// In:     frame of the view; slope of the frame
/// Out:    the same bits for any threads
/// Cost:   O(edges)
ViewExtremes find_extremes(const EdgeView& view, const EdgeFrame& frame,
                           double slope, const ParallelFor& parallel_for);

}  // namespace clockassay
