// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <vector>

#include "clockassay/verdict/verdict.h"
#include "verdict/aliasing.h"
#include "verdict/checks.h"

namespace clockassay {

/// Why a verdict is no pass, or why a pass is in doubt: adds the causes, in
/// order of rank, and where nothing exact explains the frequency that and what
/// to do then.
/// In:     warnings  all that bear on this clock
///         verdict   with its checks judged and its decision by them
/// Source: docs/verdict.md#causes
void find_causes(const ClockSpec& clock, const std::vector<Suspect>& suspects,
                 const ClockEvidence& evidence, const MeasuredError& error,
                 const std::vector<AliasCandidate>& aliases,
                 const std::vector<Warning>& warnings, Verdict& verdict);

}  // namespace clockassay
