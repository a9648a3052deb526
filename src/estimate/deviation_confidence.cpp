// SPDX-License-Identifier: GPL-3.0-or-later
#include "estimate/deviation_confidence.h"

#include <algorithm>
#include <array>
#include <boost/math/distributions/chi_squared.hpp>
#include <cassert>
#include <cmath>
#include <limits>

#include "estimate/noise_exponent.h"

namespace clockassay {
namespace {

// Of Greenhall and Riley, with the names they have there: t is a time in units
// of tau, F how many phases of the series a phase that differences are taken of
// is the mean of, per tau.

double sw(double t, int alpha) {
  t = std::abs(t);
  if (t == 0.0) return 0.0;
  switch (alpha) {
    case 2:
      return -t;
    case 1:
      return t * t * std::log(t);
    case 0:
      return t * t * t;
    case -1:
      return -t * t * t * t * std::log(t);
    default:
      return -t * t * t * t * t;
  }
}

/// The limit of sx for F without end; there is none for white phase.
double sx_limit(double t, int alpha) {
  t = std::abs(t);
  switch (alpha) {
    case 1:
      return -2.0 * std::log(t) - 3.0;
    case 0:
      return -6.0 * t;
    case -1:
      return t == 0.0 ? 0.0 : t * t * (12.0 * std::log(t) + 7.0);
    default:
      return 20.0 * t * t * t;
  }
}

double sx(double t, double f, int alpha) {
  // Chosen: from here on rounding is worse than the limit, and both are below
  // a part in a million.
  constexpr double kLimitFrom = 1e3;
  if (!(std::abs(t) * f <= kLimitFrom)) return sx_limit(t, alpha);
  return f * f *
         (2.0 * sw(t, alpha) - sw(t - 1.0 / f, alpha) - sw(t + 1.0 / f, alpha));
}

/// Signed binomial coefficients from the middle one on: what differences of
/// that order have in common when they are so many steps apart.
std::array<double, 4> shared_weights(int order) {
  assert(order == 2 || order == 3);
  if (order == 2) return {6.0, -4.0, 1.0, 0.0};
  return {20.0, -15.0, 6.0, -1.0};
}

/// Covariance of two terms that begin t apart, but for a factor.
double sz(double t, double f, int alpha, int order) {
  const std::array<double, 4> weights = shared_weights(order);
  double sum = weights[0] * sx(t, f, alpha);
  for (int i = 1; i <= order; ++i) {
    sum += weights[static_cast<std::size_t>(i)] *
           (sx(t - i, f, alpha) + sx(t + i, f, alpha));
  }
  return sum;
}

/// Squares of the covariances of one term with the others: of `terms`, `within`
/// of them begin within tau, of which `worth` are near enough to matter.
double sum_of_squares(double worth, double terms, double within, double f,
                      int alpha, int order) {
  const auto square = [&](double t) {
    const double z = sz(t, f, alpha, order);
    return z * z;
  };
  double sum = square(0.0) + (1.0 - worth / terms) * square(worth / within);
  for (int i = 1; i < static_cast<int>(worth); ++i) {
    sum += 2.0 * (1.0 - i / terms) * square(i / within);
  }
  return sum;
}

/// White noise of the phases: terms whole tau apart share phases, no others.
double white_phase_dof(const DifferenceVariance& v) {
  const std::array<double, 4> weights = shared_weights(v.order);
  const double taus =
      static_cast<double>(v.terms) / static_cast<double>(v.stride);
  double sum = 1.0;
  for (int i = 1; i <= v.order; ++i) {
    const double shared = weights[static_cast<std::size_t>(i)] / weights[0];
    sum += 2.0 * std::max(0.0, 1.0 - i / taus) * shared * shared;
  }
  return static_cast<double>(v.terms) / sum;
}

}  // namespace

double equivalent_dof(NoiseKind noise, const DifferenceVariance& v) {
  assert(v.terms >= 1 && v.stride >= 1);
  if (noise == NoiseKind::kWhitePhase && v.averaging != 1.0) {
    return white_phase_dof(v);
  }
  constexpr double kMostSummed = 1000.0;  // chosen: see the header
  const int alpha = alpha_of(noise);
  double terms = static_cast<double>(v.terms);
  double within = static_cast<double>(v.stride);
  const double variance = sz(0.0, v.averaging, alpha, v.order);
  double worth = std::min(terms, (v.order + 1) * within);
  // Means of phases over less than from one term to the next do not matter, but
  // for flicker of the phase, which must not grow beyond its sum there.
  double averaging = v.averaging;
  if (worth > kMostSummed) {
    const double fewer = kMostSummed / worth;
    terms *= fewer;
    within *= fewer;
    worth = kMostSummed;
    if (noise == NoiseKind::kFlickerPhase) {
      averaging = std::min(averaging, within);
    }
  }
  return terms * variance * variance /
         sum_of_squares(worth, terms, within, averaging, alpha, v.order);
}

double allan_dof(NoiseKind noise, std::int64_t m, std::int64_t stride,
                 std::int64_t terms) {
  const double averaging = noise == NoiseKind::kFlickerPhase
                               ? static_cast<double>(m)
                               : std::numeric_limits<double>::infinity();
  return equivalent_dof(noise, {2, averaging, stride, terms});
}

DeviationInterval deviation_interval(double dof, double coverage) {
  assert(dof > 0.0 && coverage > 0.0 && coverage < 1.0);
  const boost::math::chi_squared squares(dof);
  const double tail = 0.5 * (1.0 - coverage);
  return {std::sqrt(dof / quantile(complement(squares, tail))),
          std::sqrt(dof / quantile(squares, tail))};
}

}  // namespace clockassay
