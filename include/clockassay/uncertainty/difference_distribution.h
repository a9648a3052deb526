// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

namespace clockassay {

/// What is known of the difference of two results: a rectangular part of each,
/// half-widths a and b, and a normal part of standard deviation s, independent.
/// Any may be zero, not all.
/// Source: docs/history.md#the-shift
struct DifferenceDistribution {
  double rectangle_a = 0.0;   ///< a >= 0
  double rectangle_b = 0.0;   ///< b >= 0
  double normal_sigma = 0.0;  ///< s >= 0
};

/// sqrt((a^2 + b^2)/3 + s^2).
double standard_uncertainty(const DifferenceDistribution& d);

/// P(|X| >= x), x >= 0. Absolute accuracy 1e-9.
double two_sided_tail(const DifferenceDistribution& d, double x);

/// U with P(|X| <= U) = coverage, 0.5 <= coverage < 1. Relative accuracy 1e-6
/// where 1 - coverage is 1e-6 or more.
double expanded_half_width(const DifferenceDistribution& d, double coverage);

}  // namespace clockassay
