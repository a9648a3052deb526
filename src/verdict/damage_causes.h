// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <vector>

#include "clockassay/verdict/verdict.h"

namespace clockassay {

/// What the warnings of a capture give reason to name, whatever the frequency:
/// a clock that stopped, samples that were lost, edges that were put right, a
/// timebase that a reference contradicts. All of rank 1.
std::vector<Cause> damage_causes(const ClockEvidence& evidence);

}  // namespace clockassay
