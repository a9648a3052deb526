// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <vector>

#include "clockassay/base/parallel.h"
#include "clockassay/edges/edge_store.h"
#include "clockassay/estimate/edge_sums.h"
#include "clockassay/estimate/view_extremes.h"
#include "estimate/cycle_sample.h"
#include "estimate/window_likelihood.h"

namespace clockassay {

/// Up to this many edges every edge is a cell of its own. Chosen: a few
/// thousand cells take a millisecond to climb.
inline constexpr std::int64_t kMostSingleCells = 4096;

/// Beyond, edges are taken together within so many stretches of cycles.
inline constexpr std::size_t kCycleGroups = 64;

/// Where the edges of a view lie in their windows, about a reference line.
struct LikelihoodReference {
  double slope = 0.0;   ///< of the frame
  double rise = 0.0;    ///< line of the rising edges at k = 0 [ticks]
  double fall = 0.0;    ///< of the falling
  double window = 0.0;  ///< [ticks]
  double reach = 0.0;   ///< largest |k|: cells' k is in units of it
  /// Jitter the table is fine enough for [windows]: cells are an eighth of it
  /// wide, and edges more than eight times it inside both ends are left out.
  double sigma = 0.0;
  /// Up to this many edges every edge is a cell of its own.
  std::int64_t most_single = kMostSingleCells;
  /// Among these also the edges that say nothing.
  bool with_silent = false;
  /// Of more than these, the edges looked at.
  CycleSample sample;
  /// If known, blocks whose edges all say nothing are not read.
  const ViewExtremes* extremes = nullptr;
};

/// Cells of all edges of the view; y and k of a cell are its edges' means.
/// The same bits for any threads and blocks: sums are of integers.
/// In: sums of the view; window, reach, sigma > 0
std::vector<LikelihoodCell> tabulate_edges(const EdgeView& view,
                                           const EdgeSums& sums,
                                           const LikelihoodReference& about,
                                           const ParallelFor& parallel_for);

}  // namespace clockassay
