// SPDX-License-Identifier: GPL-3.0-or-later
#include "clockassay/uncertainty/difference_distribution.h"

#include <algorithm>
#include <cassert>
#include <cmath>
#include <numbers>

#include "clockassay/uncertainty/error_distribution.h"

namespace clockassay {
namespace {

// The closed form subtracts nearly equal values where both rectangles are much
// narrower than the normal part; one of less than a thousandth of it is then
// taken as normal. That changes the distribution by its fourth cumulant, 1e-12
// of the normal's. Chosen.
constexpr double kNarrow = 1e-3;

double normal_density(double z) {
  return std::exp(-0.5 * z * z) * std::numbers::inv_sqrtpi /
         std::numbers::sqrt2;
}

double normal_cumulative(double z) {
  return 0.5 * std::erfc(-z / std::numbers::sqrt2);
}

// The second integral of the cumulative normal of standard deviation s, from
// minus infinity: ((x^2 + s^2) Phi(x/s) + x s phi(x/s)) / 2.
double second_integral(double x, double s) {
  if (s == 0.0) return x > 0.0 ? 0.5 * x * x : 0.0;
  return 0.5 * ((x * x + s * s) * normal_cumulative(x / s) +
                x * s * normal_density(x / s));
}

// P(X <= x), a and b above zero: the mean of the cumulative normal over both
// rectangles.
double cumulative(const DifferenceDistribution& d, double x) {
  const double a = d.rectangle_a;
  const double b = d.rectangle_b;
  const double s = d.normal_sigma;
  const double sum =
      second_integral(x + a + b, s) - second_integral(x + a - b, s) -
      second_integral(x - a + b, s) + second_integral(x - a - b, s);
  return std::clamp(sum / (4.0 * a * b), 0.0, 1.0);
}

// With what is negligible in the normal part.
DifferenceDistribution simplified(DifferenceDistribution d) {
  for (double* rectangle : {&d.rectangle_a, &d.rectangle_b}) {
    if (*rectangle <= kNarrow * d.normal_sigma) {
      d.normal_sigma =
          std::hypot(d.normal_sigma, *rectangle / std::numbers::sqrt3);
      *rectangle = 0.0;
    }
  }
  return d;
}

}  // namespace

double standard_uncertainty(const DifferenceDistribution& d) {
  return std::hypot(
      std::hypot(d.rectangle_a, d.rectangle_b) / std::numbers::sqrt3,
      d.normal_sigma);
}

double two_sided_tail(const DifferenceDistribution& given, double x) {
  assert(x >= 0.0);
  const DifferenceDistribution d = simplified(given);
  if (d.rectangle_a == 0.0 || d.rectangle_b == 0.0) {
    const ErrorDistribution one{std::max(d.rectangle_a, d.rectangle_b),
                                d.normal_sigma};
    return 2.0 * cumulative(one, -x);
  }
  return std::min(1.0, 2.0 * cumulative(d, -x));
}

double expanded_half_width(const DifferenceDistribution& d, double coverage) {
  assert(coverage >= 0.5 && coverage < 1.0);
  double low = 0.0;
  // Beyond the rectangles and forty deviations a double has no tail left.
  double high = d.rectangle_a + d.rectangle_b + 40.0 * d.normal_sigma;
  constexpr int kHalvings = 100;
  for (int i = 0; i < kHalvings; ++i) {
    const double middle = 0.5 * (low + high);
    (two_sided_tail(d, middle) > 1.0 - coverage ? low : high) = middle;
  }
  return 0.5 * (low + high);
}

}  // namespace clockassay
