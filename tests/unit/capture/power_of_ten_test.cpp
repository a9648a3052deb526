// SPDX-License-Identifier: GPL-3.0-or-later
#include "capture/power_of_ten.h"

#include <doctest/doctest.h>

#include "clockassay/base/units.h"

namespace clockassay {
namespace {

TEST_CASE("power_of_ten: either sign, to the end of the range") {
  CHECK(power_of_ten(0) == Rational(1));
  CHECK(power_of_ten(3) == Rational(1000));
  CHECK(power_of_ten(-3) == *Rational::make(1, 1000));
  CHECK(multiply(power_of_ten(37), power_of_ten(-37)) == Rational(1));
}

}  // namespace
}  // namespace clockassay
