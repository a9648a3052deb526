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

/// With more of the captures a plan does not count on a pass.
inline constexpr double kMostUneven = 0.5;

/// Whether of captures at that rate and of that length more than those have
/// one, by the jitter stated.
bool jitter_spoils(const CapturePlan& plan, double rate, Seconds time);

/// The most jitter with which no more captures than 1 - coverage do so.
Seconds most_jitter(const CapturePlan& plan, double cycles);

}  // namespace clockassay
