// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "analysis/channel_analysis.h"
#include "clockassay/analysis/record.h"
#include "clockassay/base/parallel.h"

namespace clockassay {

/// Frequency stability of the last stretch, where it was asked for and the
/// stretch has an estimate, what the clock behaves like, by it and by the
/// spectrum if there is one, and a warning of what tau were left out. What
/// sampling makes of interpolated edges is not known.
void describe_stability_of(const Setting& s, const AnalysedStretch& last,
                           bool interpolated, const ParallelFor& parallel_for,
                           ChannelResult& result);

}  // namespace clockassay
