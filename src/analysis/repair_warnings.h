// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <vector>

#include "analysis/channel_analysis.h"
#include "clockassay/base/warning.h"

namespace clockassay {

/// Looks at what was repaired in the last stretch: how far the rate of the
/// pulses is from the frequency then, and whether chance spaced them so.
void look_at_repairs(const AnalysedStretch& last, ChannelResult& result);

/// Lost and extra edges, with the first few of them, and why they may not be
/// trusted; after look_at_repairs().
void warn_of_repairs(const Setting& s, const AnalysedStretch& last,
                     ChannelResult& result);

}  // namespace clockassay
