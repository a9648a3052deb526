// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <string>
#include <vector>

#include "clockassay/verdict/verdict.h"

namespace clockassay {

/// What the warnings of a capture give reason to name, whatever the frequency:
/// a clock that stopped, samples that were lost, edges that were put right,
/// periods off the others, a timebase that a reference contradicts. All of
/// rank 1.
std::vector<Cause> damage_causes(const ClockEvidence& evidence);

/// Samples that are missing one by one and show in no single period. Its rank
/// and what would be seen are the caller's.
Cause single_samples_lost();

/// "9 of 41 periods are off the others by …", no full stop.
std::string off_periods_text(const SteadyPeriods& steady);

}  // namespace clockassay
