// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "clockassay/capture/capture.h"
#include "clockassay/capture/channel_stream.h"
#include "clockassay/edges/edge_store.h"

namespace clockassay {

/// A silence longer than this many periods is a stop, not lost cycles. Chosen.
inline constexpr double kStopPeriods = 16.0;

/// Numbers the cycles of one channel, repairs openly, splits at changes of
/// regime: one serial walk over block headers; only blocks with a period off
/// the running one are decoded and put through the predictor.
/// Lost cycles advance the count, edges that fit no cycle are left out; each
/// is listed in the stretch. Nothing is moved or invented.
/// In:     record  full blocks (ChannelJoiner); window of one edge [ticks]
/// Out:    stretches of at least two rising edges. Every edge of the record is
///         in a stretch, listed there as extra, or counted as unnumbered: so
///         are extra ones before the first edge of all or after the last.
/// Cost:   O(blocks) plus O(edges) of irregular blocks
/// Source: docs/measurement-model.md#numbering-and-repairs
EdgeStore number_cycles(const ChannelRecord& record, double window_ticks);

}  // namespace clockassay
