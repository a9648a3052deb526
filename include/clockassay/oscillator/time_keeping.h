// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <cstdint>

#include "clockassay/base/rational.h"
#include "clockassay/base/result.h"

namespace clockassay {

/// The frequency error that makes a clock gain or lose `seconds` in so many
/// days of 86 400 s, ± ppm, exactly.
/// Errors: kUsage unless 0 < seconds < the days; kOutOfRange.
Result<Rational> time_keeping_tolerance(const Rational& seconds,
                                        std::int64_t days);

}  // namespace clockassay
