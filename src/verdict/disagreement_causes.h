// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <vector>

#include "clockassay/verdict/verdict.h"

namespace clockassay {

/// Another output of the source that is off by another ratio: a right one, or
/// where more outputs are slightly apart from the clock than agree with it, it
/// counted too, any of those. Null: there is none.
const OtherClock* disagreeing_output(const ClockEvidence& evidence);

/// What may be wrong with a clock within its tolerance whose source has such
/// another output: a slip behind the point where the two part, something else
/// there, or that they do not come from one source. Named, not weighed: a slip
/// that fits beside every right output is of rank 1 and the others follow,
/// unless so much is open that it would fit anything.
/// Source: docs/verdict.md#clocks-of-one-source
std::vector<Cause> disagreement_causes(const ClockSpec& clock,
                                       const ClockEvidence& evidence);

/// Something behind the point where the clock and `other` part. Its rank and
/// what would be seen are the caller's.
Cause behind_the_split(const OtherClock& other);

/// That the two do not come from one source. As above.
Cause not_one_source(const OtherClock& other);

}  // namespace clockassay
