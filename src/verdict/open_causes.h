// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <vector>

#include "verdict/candidate.h"

namespace clockassay {

/// Spread spectrum, seen or not.
Candidate spread_spectrum(const ClockSpec& clock, const ClockEvidence& evidence,
                          const MeasuredError& error, double expected_hz);

/// Appends what explains no exact figure, as far as the capture gives reason to
/// name it: the crystal or another source off, the instrument's time, a loop
/// without lock, a spread, a fault of this output alone, sources that are not
/// one.
void append_open(const ClockSpec& clock, const ClockEvidence& evidence,
                 const MeasuredError& error,
                 std::vector<Candidate>& candidates);

}  // namespace clockassay
