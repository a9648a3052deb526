// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <string_view>

#include "clockassay/base/rational.h"
#include "clockassay/base/result.h"

namespace clockassay {

/// The tolerance of a thermometer, in kelvin: "0.5K", "±0.5K", "0.5degC". Above
/// zero, 50 at most; a bare number is refused, as elsewhere.
Result<Rational> parse_kelvin_tolerance(std::string_view text);

}  // namespace clockassay
