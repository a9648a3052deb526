// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <optional>

#include "clockassay/estimate/clock_ratio.h"
#include "support/test_stretch.h"

namespace clockassay {

/// What is said of two clocks that one instrument saw, its ticks being samples;
/// absent where they have no time in common, or too few edges in it.
std::optional<ClockRatio> seen_ratio(const SampledEdges& clock,
                                     const SampledEdges& reference);

/// Of the ratio, relative: of both clocks together.
double half_width_of(const ClockRatio& ratio);

}  // namespace clockassay
