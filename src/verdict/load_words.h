// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <vector>

#include "clockassay/verdict/verdict.h"
#include "verdict/checks.h"

namespace clockassay {

/// Adds to a verdict that is otherwise complete what its error says of the
/// load, where one is stated: `load`, and sentences to its reasons and advice.
/// Says why not where the frequency is not to be trusted, or where a cause
/// with an exact ratio explains it at least as well.
/// In:     warnings  all that bear on this clock
void judge_load(const ClockSpec& clock, const ClockEvidence& evidence,
                const MeasuredError& error,
                const std::vector<Warning>& warnings, Verdict& verdict);

}  // namespace clockassay
