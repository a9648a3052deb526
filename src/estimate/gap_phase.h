// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <cstdint>
#include <optional>

#include "clockassay/edges/edge_store.h"
#include "clockassay/estimate/edge_sums.h"

namespace clockassay {

/// A phase that is another after cycles without an edge.
struct GapJump {
  std::int64_t lost = 0;  ///< cycles that show no rising edge
  Ticks after;            ///< first rising edge after them
  double jump = 0.0;      ///< of the phase [ticks]
};

/// The widest jump of the phase over cycles that were lost, beyond what jitter
/// and sampling explain: no damage of the capture, but a clock that stopped.
/// Of each gap up to 32 rising edges on either side are looked at, with a line
/// each and one slope for both. Sampling moves the difference of the lines by
/// half a window times the sum of the weights of the edges in it at most;
/// white jitter of the scatter about them makes a false alarm less than once
/// in a thousand captures with gaps; where neighbouring periods deviate alike,
/// what the phase walks over the gap is allowed for.
/// In:     window of an edge [ticks]
/// Out:    absent: every gap fits, or is next to fewer than three edges
/// Source: docs/measurement-model.md#numbering-and-repairs
std::optional<GapJump> find_gap_jump(const EdgeView& view, const EdgeSums& sums,
                                     double window);

}  // namespace clockassay
