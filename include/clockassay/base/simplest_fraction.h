// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <optional>

#include "clockassay/base/rational.h"

namespace clockassay {

/// The fraction of smallest denominator, and of these smallest numerator, in
/// low … high, by continued fractions.
/// In:     0 < low <= high, finite
/// Out:    absent where it leaves the range of Rational
/// Source: D. E. Knuth, The Art of Computer Programming, vol. 2, 4.5.3, ex. 39
///         (named from memory; the tests search all fractions)
std::optional<Rational> simplest_fraction(double low, double high);

}  // namespace clockassay
