// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

namespace clockassay {

/// What is known of an error: a rectangular part of half-width a and an
/// independent normal part of standard deviation s, convolved. Either may be
/// zero, not both. The same distribution gives U and every probability of
/// conformity, so that the two never contradict each other.
/// Source: docs/uncertainty.md#the-distribution-of-the-error
struct ErrorDistribution {
  double rectangle_half_width = 0.0;  ///< a >= 0
  double normal_sigma = 0.0;          ///< s >= 0
};

/// Whether both parts are finite, none negative and one positive. The other
/// functions here ask for it.
bool is_proper(const ErrorDistribution& d);

/// The distribution of factor * X, factor > 0.
ErrorDistribution scaled(const ErrorDistribution& d, double factor);

/// sqrt(a^2/3 + s^2).
double standard_uncertainty(const ErrorDistribution& d);

/// P(X <= x) for the centred distribution. Relative accuracy 1e-12 also in
/// the lower tail; x may be infinite.
double cumulative(const ErrorDistribution& d, double x);

/// U with P(|X| <= U) = coverage, 0 < coverage < 1. Relative accuracy 1e-12
/// for coverages of 0.01 and more; below, 1e-14 / coverage.
double expanded_half_width(const ErrorDistribution& d, double coverage);

/// P(low <= y + X <= high), low <= high; either limit may be infinite.
double probability_within(const ErrorDistribution& d, double y, double low,
                          double high);

}  // namespace clockassay
