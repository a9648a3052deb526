// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <vector>

#include "clockassay/base/parallel.h"
#include "clockassay/edges/edge_store.h"
#include "clockassay/estimate/clock_estimate.h"

namespace clockassay {

/// A place where the frequency, or the phase, jumped: after the rising edge at
/// `before`, before the one at `after`. What lies between belongs to neither
/// side for sure.
struct FrequencyStep {
  Ticks before;
  Ticks after;
};

/// The mean frequency over a part of a view, in the capture's own time.
struct FrequencyPart {
  Ticks from;  ///< its first and its last edge
  Ticks to;
  double period_ticks = 0.0;
  /// The furthest it may be off: five standard uncertainties that jitter
  /// leaves, and the most that sampling does to any clock of that period.
  double most_off_ticks = 0.0;
};

/// How the frequency of a view went.
struct FrequencyCourse {
  std::vector<FrequencyStep> steps;  ///< up to three, in order of time
  /// Parts of any length up to half of the view, each half over the next one of
  /// its length: the short ones show when, the long ones how little. None where
  /// there are too few edges.
  std::vector<FrequencyPart> parts;
};

/// Follows the frequency through a view and finds where it stepped: straight
/// lines of phase that fit as well as white jitter allows, where one line does
/// not, and where no smooth curve with as many parameters comes near. Drift,
/// settling and wander are no steps, and neither is what sampling makes of a
/// clock near a simple fraction of the sample rate. Where no lines fit because
/// the frequency wanders, the longest end that some fit is told apart.
/// In:     a view; nothing is found in one without two rising edges
/// Out:    the same bits for any blocks and threads
/// Cost:   O(N), one pass
/// Source: docs/measurement-model.md#stretches
FrequencyCourse follow_frequency(const EdgeView& view, const TickScale& scale,
                                 const ParallelFor& parallel_for);

}  // namespace clockassay
