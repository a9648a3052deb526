// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <optional>
#include <string>
#include <vector>

#include "clockassay/verdict/verdict.h"
#include "verdict/checks.h"

namespace clockassay {

/// By how much an instrument's rate moves between two captures unless it is
/// told better: warm-up and room temperature. Chosen (docs/verdict.md).
inline constexpr double kMovesBetweenCapturesPpm = 1.0;

/// No analyzer samples faster: nothing above is advised. Chosen.
inline constexpr double kFastestSamplerHz = 10e9;

/// Largest rectangular half-width with which the coverage interval stays
/// within `margin`; absent when the normal part alone exceeds it.
std::optional<double> sufficient_rectangle(double normal_sigma, double coverage,
                                           double margin);

/// Largest normal standard deviation with which it does; absent when the
/// rectangle alone exceeds it.
std::optional<double> sufficient_normal(double rectangle_half_width,
                                        double coverage, double margin);

/// What would turn an undecided check into a decision, in numbers. `low` and
/// `high` are the limits the present error ± U must keep to (for `life`: what
/// temperature and ageing leave of them).
/// Model: a clock that is off by what it seems to be now, and U brought down to
///        half of what lies between that and the limit; a capture whose
///        capture's part of U falls in proportion to its length. A faster
///        sampler leaves a sample interval at each end over the length at most,
///        whatever it locks to, and is named only where the jitter that is
///        there leaves less than half of what is wanted.
ToDecide numbers_to_decide(const MeasuredError& error, double low, double high,
                           const ClockEvidence& evidence);

/// The same in sentences.
std::vector<std::string> advice_to_decide(const MeasuredError& error,
                                          const ToDecide& numbers,
                                          const ClockEvidence& evidence);

}  // namespace clockassay
