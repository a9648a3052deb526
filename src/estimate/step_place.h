// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "clockassay/estimate/frequency_steps.h"
#include "estimate/broken_line.h"
#include "estimate/phase_parts.h"

namespace clockassay {

/// The line before a step and the one after it, in the view's frame, and the
/// cycles among which it is.
struct StepLines {
  PointLine before;
  PointLine after;
  std::int64_t from_cycle = 0;
  std::int64_t to_cycle = 0;
  double variance = 0.0;  ///< of one edge [ticks²]
  /// How far sampling may have moved all edges of a line together [ticks].
  double shift = 0.0;
};

/// Where among the edges one line hands over to the other: all places at which
/// the edges are not much less likely than at the best one, three standard
/// deviations, and at which the lines are no further apart than sampling may
/// have moved them.
/// In:     phase of this view; two edges or more between the two cycles
/// Cost:   O(edges between from_cycle and to_cycle), two passes; no memory
FrequencyStep place_step(const EdgeView& view, const PhaseParts& phase,
                         const StepLines& lines);

}  // namespace clockassay
