// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <cstdint>
#include <optional>

#include "clockassay/estimate/stability.h"
#include "estimate/phase_sweep.h"

namespace clockassay {

/// Parts that a view is cut into. Chosen: a line explains nine tenths of the
/// variance of so many values of noise next to never, be it white or flicker.
inline constexpr int kDriftParts = 16;

/// Phases of a mean at most. Chosen: sampling is then below 1/400 of a window.
inline constexpr std::int64_t kMostDriftPhases = std::int64_t{1} << 14;

/// Cycles that each mean is of.
std::int64_t drift_mean_of(std::int64_t cycles);

/// The least-squares line through the frequencies of equal parts of a series of
/// phases, each from the mean of phases about its ends.
/// In:     phases and period_ticks in ticks, phases grow as edges come later
/// Out:    what the line explains, the lesser of that of 16 and 25 parts;
///         absent: fewer than 4 phases a part, or none known about an end
/// Cost:   reads 43 times 2^14 phases at most
std::optional<FrequencyDrift> frequency_drift(const PhaseSource& phases,
                                              double period_ticks);

/// By how much the change of a drift is off where each mean of phases is off by
/// `error` at most, either way; both in one unit.
/// Model:  the slope of 16 values weighs them by (i - 7.5)/340; each value is a
///         difference of two means: |weights| of the means sum to 30/340
double drift_error_bound(double error, std::int64_t cycles, double period);

}  // namespace clockassay
