// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <optional>

#include "clockassay/verdict/cause.h"
#include "clockassay/verdict/specification.h"
#include "verdict/checks.h"

namespace clockassay {

/// Why a requirement is not met where what it is set up with leaves too little,
/// whatever the clock does: a divisor that takes nominal out of the limits, or
/// limits narrower than the source is specified or U is. Absent: the set-up is
/// not to blame.
/// In:     asked  a requirement of the clock that does not pass
///         as_made  the clock is within its make tolerance
/// Source: docs/verdict.md#causes
std::optional<Cause> set_up_cause(const ClockSpec& clock,
                                  const RequirementAsked& asked,
                                  const MeasuredError& error, bool as_made);

/// Whether no clock at nominal is within the limits.
bool excludes_nominal(const ToleranceBand& limits);

}  // namespace clockassay
