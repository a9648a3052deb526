// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "clockassay/estimate/edge_line.h"
#include "clockassay/estimate/edge_sums.h"
#include "clockassay/estimate/frequency_estimate.h"
#include "clockassay/estimate/residual_pass.h"

namespace clockassay {

/// Jitter of the rising edges as sampled; nothing is taken off for sampling.
///   period      deviation of a period from the mean period
///   cycle to cycle  difference of two adjacent periods
///   TIE         edge time minus the fitted line
/// resolution_limited: the TIE rms is below 0.6 windows, so that sampling may
/// have made most of it; then upper_limit = TIE rms + window/2 bounds the rms
/// of what the clock did, because sampling moves no edge further than half a
/// window from its middle.
/// In: window [ticks], tick [s]
/// Source: docs/measurement-model.md#jitter
Jitter describe_jitter(const EdgeSums& sums, const LineFit& line,
                       const ResidualPass& residuals, double window_ticks,
                       double tick_s);

}  // namespace clockassay
