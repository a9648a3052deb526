// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

namespace clockassay {

/// How likely a standard normal variable falls between two ends, and how that
/// answers to the ends.
struct IntervalProbability {
  double log = 0.0;   ///< ln P(low < Z < high)
  double low = 0.0;   ///< phi(low) / P
  double high = 0.0;  ///< phi(high) / P
};

/// In:  low < high, both finite
/// Out: relative accuracy kept in both tails, however far
IntervalProbability interval_probability(double low, double high);

}  // namespace clockassay
