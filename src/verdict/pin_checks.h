// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <string>
#include <vector>

#include "clockassay/verdict/verdict.h"

namespace clockassay {

/// The checks of what the pin itself shows, where limits are stated or a
/// requirement has them that is asked of the frequency expected there: "duty"
/// and "period_jitter". They pass or are undecided; they fail only where it is
/// stated what the instrument adds.
/// Model:  duty ± k u within its limits, k normal for the coverage. Period
///         jitter: no more than its limit as seen with all that sampling and
///         statistics may hide of it, or, where that is less, twice the upper
///         limit of the edges' own; more only if it is without them, and
///         without the input's, too.
/// Source: docs/verdict.md#duty-and-period-jitter
std::vector<Check> pin_checks(const ClockSpec& clock,
                              const ClockEvidence& evidence);

/// Which requirements limit a duty that this pin does not show, in sentences.
std::vector<std::string> duties_not_judged(const ClockSpec& clock);

bool is_of_pin(const Check& check);
/// What such a check found, in a sentence.
std::string pin_reason(const Check& check);

}  // namespace clockassay
