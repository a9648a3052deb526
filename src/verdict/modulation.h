// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <optional>
#include <vector>

#include "clockassay/base/rational.h"
#include "clockassay/verdict/verdict.h"

namespace clockassay {

/// The first of the checks now whose limits the clock keeps on the mean, and
/// leaves for part of the time as its spread takes it up and down; null: none,
/// or no spread is seen. Ageing and temperature are not counted with it.
/// Source: docs/verdict.md#modulated-clocks
const Check* left_by_spread(const ClockEvidence& evidence,
                            const std::vector<Check>& checks);

/// Forbids a pass where there is one, or where some part of the capture, after
/// `settle_within`, surely ran outside the limits of such a check.
std::optional<Warning> modulation_warning(
    const ClockEvidence& evidence, const std::vector<Check>& checks,
    const std::optional<Rational>& settle_within_s);

}  // namespace clockassay
