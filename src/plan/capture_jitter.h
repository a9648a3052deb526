// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "clockassay/plan/capture_plan.h"

// What jitter makes of periods and pulses, before a capture shows it.
namespace clockassay {

/// Part of captures of which some period is taken for an uneven one, or some
/// pulse is missed: either may forbid a pass.
/// Model:  periods and pulses normal about their length with sqrt(2) of an
///         edge's jitter, seen by a sampler that meets them anywhere; each by
///         itself
/// In:     the plan's clocks and pulses, cycles of the capture; jitter > 0, rms
///         of an edge
/// Source: docs/plan.md#capture
double share_uneven(const CapturePlan& plan, double cycles, Seconds jitter);

/// The most jitter with which no more captures than 1 - coverage do so.
Seconds most_jitter(const CapturePlan& plan, double cycles);

}  // namespace clockassay
