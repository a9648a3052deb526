// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <optional>

#include "clockassay/oscillator/load_network.h"
#include "clockassay/oscillator/preferred_values.h"

namespace clockassay {

struct CapacitorWish {
  Farads load;  ///< what the crystal shall see
  Stray stray;
  /// Common practice, no source: C0G parts for this are sold at ±5 %.
  double tolerance = 0.05;
  ESeries series = ESeries::kE24;
  std::optional<CapacitorPair> fitted = {};  ///< what is there now
  /// Whether to leave both capacitors out, two of zero, is a choice as well:
  /// then the nearest there is, however far, is chosen.
  bool or_none = false;
};

struct CapacitorChoice {
  /// The nearest pair of two equal values, if it misses by no more than its
  /// own tolerance leaves open anyway; else `closest`. Two equal capacitors
  /// are one value to buy, and they ask the least gain of the oscillator.
  CapacitorPair preferred;
  /// The nearest pair at all, a <= b, legs no more than 2 : 1 apart.
  CapacitorPair closest;
};

/// Which capacitors of a series give a wanted load.
/// Ties (also to rounding): fewer values that are not fitted now, then a value
/// of E12, then the smaller ratio of the legs, then the smaller sum.
/// Out:    unless or_none, absent where the stray alone is the wanted load or
///         more, or where it takes values outside 1 pF to 1 nF
/// Source: docs/load.md#choosing-capacitors
std::optional<CapacitorChoice> choose_capacitors(const CapacitorWish& wish);

}  // namespace clockassay
