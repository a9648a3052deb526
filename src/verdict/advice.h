// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <optional>
#include <string>
#include <vector>

#include "clockassay/verdict/verdict.h"
#include "verdict/checks.h"

namespace clockassay {

/// Largest rectangular half-width with which the coverage interval stays
/// within `margin`; absent when the normal part alone exceeds it.
std::optional<double> sufficient_rectangle(double normal_sigma, double coverage,
                                           double margin);

/// What would turn an undecided check into a decision, with numbers, in
/// sentences. `low` and `high` are the limits the present error ± U must keep
/// to (for `life`: what temperature and ageing leave of them).
std::vector<std::string> advice_to_decide(const MeasuredError& error,
                                          double low, double high,
                                          const ClockEvidence& evidence);

}  // namespace clockassay
