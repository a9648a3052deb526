// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <optional>

#include "clockassay/verdict/cause.h"
#include "clockassay/verdict/specification.h"

namespace clockassay {

/// That the expected frequency was written without a unit, and the clock is
/// about so many thousands, millions or milliards of it: "24" is 24 Hz, and
/// 24 MHz was meant.
std::optional<Cause> unit_missing(const ClockSpec& clock, double measured_hz);

}  // namespace clockassay
