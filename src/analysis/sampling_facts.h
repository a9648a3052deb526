// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "clockassay/analysis/record.h"
#include "clockassay/capture/capture.h"
#include "clockassay/edges/sampling_window.h"
#include "clockassay/estimate/clock_estimate.h"

namespace clockassay {

/// What the ticks of a capture mean to an estimator. Its samples are given
/// where they are stated: a divisor of the intervals may be any multiple of the
/// sampling interval, so that what is only inferred says nothing of the phases.
TickScale tick_scale(const Capture& capture, const SamplingWindow& window);

/// Fills in how finely a capture was written and sampled, and how that is
/// known.
void describe_sampling(const Capture& capture, const SamplingWindow& window,
                       CaptureResult& result);

}  // namespace clockassay
