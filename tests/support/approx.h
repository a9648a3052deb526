// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <doctest/doctest.h>

#include <cmath>
#include <ostream>

namespace clockassay::testing {

/// What approx() allows of the larger of two magnitudes, unless .epsilon() says
/// otherwise. Chosen: five digits agree; a value written with six is off by no
/// more than half of it.
inline constexpr double kApproxEpsilon = 1e-5;

/// Equal up to a share of the value, however small the value is:
/// |a - b| < epsilon max(|a|, |b|). Plain doctest::Approx adds 1 to the
/// magnitude, so that seconds of nanoseconds and farads equal anything.
/// Nothing equals approx(0): what should be zero, or a difference of near
/// values, is compared by within(), or by .scale() of what it was made from.
inline doctest::Approx approx(double value) {
  return doctest::Approx(value).epsilon(kApproxEpsilon).scale(0.0);
}

/// Whether value lies within tolerance of expected, all in the same unit; a
/// failed CHECK shows all three.
struct Within {
  double value = 0.0;
  double expected = 0.0;
  double tolerance = 0.0;
  explicit operator bool() const {
    return std::abs(value - expected) <= tolerance;
  }
};

inline Within within(double value, double expected, double tolerance) {
  return {value, expected, tolerance};
}

inline std::ostream& operator<<(std::ostream& out, const Within& w) {
  const std::streamsize digits = out.precision(17);
  out << w.value << " is " << w.expected << " within " << w.tolerance;
  out.precision(digits);
  return out;
}

}  // namespace clockassay::testing
