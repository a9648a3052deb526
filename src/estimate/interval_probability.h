// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

namespace clockassay {

/// How likely a standard normal variable falls between two ends, and how that
/// answers to the ends.
struct IntervalProbability {
  double log = 0.0;   ///< ln P(low < Z < high)
  double low = 0.0;   ///< phi(low) / P
  double high = 0.0;  ///< phi(high) / P
  double own = 1.0;   ///< part of P that is the variable's own, see below
};

/// In:  low < high, both finite
/// Out: relative accuracy kept in both tails, however far
IntervalProbability interval_probability(double low, double high);

/// The same where the variable may have been taken for another, which falls
/// into any interval alike: of P the chance `alien` and 1 are parts in
/// proportion. In: alien >= 0, 0 for the above
IntervalProbability interval_probability(double low, double high, double alien);

}  // namespace clockassay
