// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "clockassay/capture/capture.h"
#include "clockassay/capture/channel_stream.h"
#include "clockassay/edges/edge_store.h"

namespace clockassay {

/// Tunables of the numbering walk.
struct NumberingOptions {
  /// Window of one edge [ticks]: sampling interval plus text resolution.
  double window_ticks = 1.0;
  /// Periods of a block within this fraction of the running period number
  /// themselves; a lost cycle changes one by 1, a glitch by at least 0.5.
  double regular_tolerance = 0.25;
  /// A silence longer than this many periods is a stop, not lost cycles.
  double stop_periods = 16.0;
  /// Edges in a row that fit no cycle before a change of regime is sought.
  int regime_edges = 8;
};

/// Numbers the cycles of one channel, repairs openly, splits at changes of
/// regime: one serial walk over block headers; only blocks with a period off
/// the running one are decoded and put through the predictor.
/// Lost cycles advance the count, edges that fit no cycle are left out; each
/// is listed in the stretch. Nothing is moved or invented.
/// In:     record    canonical blocks (ChannelJoiner)
/// Out:    stretches with at least two edges of a kind; cycles from 0
/// Cost:   O(blocks) plus O(edges) of irregular blocks
/// Source: docs/measurement-model.md#numbering
EdgeStore number_cycles(const ChannelRecord& record,
                        const NumberingOptions& options);

}  // namespace clockassay
