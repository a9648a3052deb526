// SPDX-License-Identifier: GPL-3.0-or-later
#include "clockassay/uncertainty/error_distribution.h"

#include <algorithm>
#include <cassert>
#include <cmath>
#include <cstddef>
#include <iterator>
#include <numbers>

namespace clockassay {
namespace {

// phi(z), the standard normal density.
double normal_density(double z) {
  return std::exp(-0.5 * z * z) * std::numbers::inv_sqrtpi /
         std::numbers::sqrt2;
}

// Q(z), the standard normal upper tail; erfc keeps its relative accuracy.
double normal_tail(double z) {
  return 0.5 * std::erfc(z / std::numbers::sqrt2);
}

// H(z) = integral of Q from z >= 0 to infinity = phi(z) - z Q(z).
double normal_tail_integral(double z) {
  // Beyond, both terms are below the smallest double, and inf * 0 is not 0.
  constexpr double kNothingBeyond = 39.0;
  // Above, the difference would lose z^2 of its digits; the continued fraction
  // H/Q = 1/(z + 2/(z + 3/(z + ...))) subtracts nothing. It follows from
  // phi/Q = z + 1/(z + 2/(z + ...)) (Abramowitz and Stegun, 26.2.14). Chosen:
  // at z = 2 what 100 levels leave out, about exp(-2 z sqrt(200)), is 1e-24.
  constexpr double kFractionFrom = 2.0;
  constexpr int kLevels = 100;
  if (z > kNothingBeyond) return 0.0;
  if (z < kFractionFrom) return normal_density(z) - z * normal_tail(z);
  double fraction = z;
  for (int level = kLevels; level >= 2; --level) {
    fraction = z + level / fraction;
  }
  return normal_tail(z) / fraction;
}

// Where the tail hardly changes across the rectangle the closed form would
// subtract two nearly equal values, and the mean over the rectangle is taken
// by quadrature instead. Chosen: a <= 0.5 s, and a fall across the rectangle
// (about exp(2 a x / s^2) in the far tail) that the 12 points below follow to
// 1e-14; outside, the closed form loses less than two digits.
constexpr double kNarrow = 0.5;
constexpr double kGentleFall = 4.0;
bool is_narrow(const ErrorDistribution& d, double x) {
  const double ratio = d.rectangle_half_width / d.normal_sigma;
  return ratio <= kNarrow && ratio * (x / d.normal_sigma) <= kGentleFall;
}

// Gauss-Legendre, 12 points on [-1, 1]: nodes and weights of one half, from
// Abramowitz and Stegun, Table 25.4.
constexpr double kNodes[] = {0.125233408511469, 0.367831498998180,
                             0.587317954286617, 0.769902674194305,
                             0.904117256370475, 0.981560634246719};
constexpr double kWeights[] = {0.249147045813403, 0.233492536538355,
                               0.203167426723066, 0.160078328543346,
                               0.106939325995318, 0.047175336386512};

// Mean of f((x + r) / s) over r in [-a, a].
template <class Function>
double mean_over_rectangle(const ErrorDistribution& d, double x, Function f) {
  double sum = 0.0;
  for (std::size_t i = 0; i < std::size(kNodes); ++i) {
    const double r = kNodes[i] * d.rectangle_half_width;
    sum += 0.5 * kWeights[i] *
           (f((x + r) / d.normal_sigma) + f((x - r) / d.normal_sigma));
  }
  return sum;
}

// P(X > x), x >= 0.
double upper_tail(const ErrorDistribution& d, double x) {
  const double a = d.rectangle_half_width;
  const double s = d.normal_sigma;
  if (std::isinf(x)) return 0.0;
  if (is_narrow(d, x)) return mean_over_rectangle(d, x, normal_tail);
  // The rectangle alone, and what the normal part carries across its edges.
  // Every term is positive, and H falls by more than half from one edge to
  // the other unless the first term outweighs both.
  const double inside = x < a ? (a - x) / (2.0 * a) : 0.0;
  if (s == 0.0) return inside;
  const double carried = normal_tail_integral(std::abs(x - a) / s) -
                         normal_tail_integral((x + a) / s);
  return inside + std::max(0.0, carried) * (s / (2.0 * a));
}

// Density at x >= 0.
double density(const ErrorDistribution& d, double x) {
  const double a = d.rectangle_half_width;
  const double s = d.normal_sigma;
  if (is_narrow(d, x)) return mean_over_rectangle(d, x, normal_density) / s;
  if (s == 0.0) return x <= a ? 0.5 / a : 0.0;
  return (normal_tail((x - a) / s) - normal_tail((x + a) / s)) / (2.0 * a);
}

}  // namespace

bool is_proper(const ErrorDistribution& d) {
  const double a = d.rectangle_half_width;
  const double s = d.normal_sigma;
  return std::isfinite(a) && std::isfinite(s) && a >= 0.0 && s >= 0.0 &&
         (a > 0.0 || s > 0.0);
}

ErrorDistribution scaled(const ErrorDistribution& d, double factor) {
  assert(factor > 0.0);
  return {d.rectangle_half_width * factor, d.normal_sigma * factor};
}

double standard_uncertainty(const ErrorDistribution& d) {
  return std::hypot(d.rectangle_half_width / std::numbers::sqrt3,
                    d.normal_sigma);
}

double cumulative(const ErrorDistribution& d, double x) {
  assert(is_proper(d));
  return x < 0.0 ? upper_tail(d, -x) : 1.0 - upper_tail(d, x);
}

double expanded_half_width(const ErrorDistribution& d, double coverage) {
  assert(is_proper(d) && coverage > 0.0 && coverage < 1.0);
  // In units of the larger part, so that nothing under- or overflows.
  const double unit = std::max(d.rectangle_half_width, d.normal_sigma);
  const ErrorDistribution e = scaled(d, 1.0 / unit);
  if (e.normal_sigma == 0.0) return coverage * unit;
  // The upper tail falls and is convex from 0 on (the density falls), so
  // Newton's steps from 0 approach the solution from below and never pass it:
  // when rounding makes a step backwards, we are there.
  const double tail = 0.5 * (1.0 - coverage);
  double u = 0.0;
  // Chosen: a step is about 1/z at z deviations, so even the smallest
  // 1 - coverage a double can hold takes some 40.
  constexpr int kMaxSteps = 200;
  for (int i = 0; i < kMaxSteps; ++i) {
    const double next = u + (upper_tail(e, u) - tail) / density(e, u);
    if (!(next > u)) break;
    u = next;
  }
  return u * unit;
}

double probability_within(const ErrorDistribution& d, double y, double low,
                          double high) {
  assert(is_proper(d) && low <= high);
  const double l = low - y;
  const double h = high - y;
  double p = 0.0;
  if (l > 0.0) {
    p = upper_tail(d, l) - upper_tail(d, h);
  } else if (h < 0.0) {
    p = upper_tail(d, -h) - upper_tail(d, -l);
  } else {
    p = 1.0 - upper_tail(d, -l) - upper_tail(d, h);
  }
  return std::clamp(p, 0.0, 1.0);
}

}  // namespace clockassay
