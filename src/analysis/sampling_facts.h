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

/// The rate of the samples of a voltage, which may stand in some rows only:
/// `rate_hz`, that of the rows, over the most of them from one to the next.
std::optional<Rational> own_sample_rate(const ChannelRecord& record,
                                        const TimeGrid& grid,
                                        const Rational& rate_hz);

}  // namespace clockassay
