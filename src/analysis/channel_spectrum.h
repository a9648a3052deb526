// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "analysis/channel_analysis.h"
#include "clockassay/base/parallel.h"

namespace clockassay {

/// The spectrum of the stretch that the channel's frequency is of, or why there
/// is none. Nothing unless it is asked for.
void add_spectrum(const Setting& s, const AnalysedStretch& last,
                  const ParallelFor& parallel_for, ChannelResult& result);

}  // namespace clockassay
