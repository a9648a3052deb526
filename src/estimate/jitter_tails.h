// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <cstdint>
#include <vector>

namespace clockassay {

/// Whether jitter may have made all periods that are off: those two windows and
/// more from the median. Half of the periods and more are within a window.
/// Model:  periods are a mean and normal jitter, seen through windows. Both are
///         taken from one side of the median, whatever explains the numbers
///         there within a likelihood of e^-2 of the best; on the other side no
///         more are off by any distance than that lets happen once in a hundred
/// In:     periods in ticks, their median, the window [ticks]
/// Source: docs/verdict.md#stretches-and-lost-samples
bool are_of_jitter(const std::vector<std::int64_t>& periods,
                   std::int64_t middle, double window_ticks);

}  // namespace clockassay
