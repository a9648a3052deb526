// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "clockassay/verdict/verdict.h"
#include "verdict/checks.h"

namespace clockassay {

/// Adds a sentence for each check that has limits, for duties that were not
/// judged and, where nothing fails, for what may come over life.
void give_reasons(const ClockSpec& clock, const MeasuredError& error,
                  const ClockEvidence& evidence, Verdict& verdict);

}  // namespace clockassay
