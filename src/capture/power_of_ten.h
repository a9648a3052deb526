// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "clockassay/base/rational.h"

namespace clockassay {

/// 10^exponent, exactly; |exponent| <= 37, which is where Rational ends.
Rational power_of_ten(int exponent);

}  // namespace clockassay
