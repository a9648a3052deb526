// SPDX-License-Identifier: GPL-3.0-or-later
#include "capture/power_of_ten.h"

#include <cstdlib>

#include "clockassay/base/units.h"

namespace clockassay {

Rational power_of_ten(int exponent) {
  Int128 power = 1;
  for (int i = 0; i < std::abs(exponent); ++i) power *= 10;
  return exponent < 0 ? *Rational::make(1, power) : *Rational::make(power, 1);
}

}  // namespace clockassay
