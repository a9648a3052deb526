// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "clockassay/estimate/edge_line.h"
#include "clockassay/estimate/edge_sums.h"
#include "clockassay/estimate/frequency_estimate.h"
#include "clockassay/estimate/residual_pass.h"

namespace clockassay {

/// Below this residual rms [windows] it matters through which windows edges
/// were seen. Residuals larger than this are normal within a sixth of a per
/// cent of the standard deviation that least squares leave.
inline constexpr double kWindowsSeenRms = 0.6;

/// The 95 % upper limit of a normal standard deviation over its estimate.
double upper_factor(double dof);

/// Jitter of the edges by their scatter about a line, with the variance that
/// sampling adds, window²/12, taken off; below kWindowsSeenRms an upper limit
/// alone.
/// In: shared_variance  1, or the factor by which jitter that neighbours share
///     raises the variance of the slope
EdgeJitter jitter_about(const LineFit& line, double window_ticks,
                        double shared_variance = 1.0);

/// What is told of jitter by edges taken for independent, told by edges that
/// share it with their neighbours.
/// Source: docs/measurement-model.md#jitter
EdgeJitter told_by_shared(EdgeJitter jitter, double shared_variance);

/// Jitter of a clock; but for that of the edges, as sampled: nothing is taken
/// off.
///   period      deviation of a period from the mean period
///   cycle to cycle  difference of two adjacent periods
///   TIE         edge time minus the fitted line
/// resolution_limited: the TIE rms is below kWindowsSeenRms, so that sampling
/// may have made most of it.
/// upper_limit is the lesser of that of the edges and TIE rms + window/2, which
/// bounds the rms of what the clock did because sampling moves no edge further
/// than half a window from its middle.
/// parts: what was seen of both polarities, and what sampling adds where all of
/// its phases are met.
/// In: window [ticks], tick [s]
/// Source: docs/measurement-model.md#jitter
Jitter describe_jitter(const EdgeSums& sums, const LineFit& line,
                       const ResidualPass& residuals, const EdgeJitter& edge,
                       double window_ticks, double tick_s);

/// Takes what the instrument's own input adds to every edge off that of the
/// edges; where that leaves less than its uncertainty the clock's own is not
/// told. The upper limit stays: the input may add less than stated.
void take_off_input(Seconds input_rms, Jitter& jitter);

}  // namespace clockassay
