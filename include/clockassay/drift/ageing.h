// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <optional>
#include <span>
#include <vector>

#include "clockassay/drift/curve.h"

namespace clockassay {

/// What the times of the points say of ageing, A ln(B t + 1), beside a curve.
struct Ageing {
  AgeingRate rate;  ///< B that fits best
  /// Between these lie all B that fit as well, as far as chance goes at 95 %;
  /// an absent end is open.
  std::optional<double> low_per_day;
  std::optional<double> high_per_day;
  double slope_ppm = 0.0;    ///< A at the best B
  double change_ppm = 0.0;   ///< by it, from the first time to the last
  double probability = 1.0;  ///< of so large a gain if there were no ageing
  bool evident = false;
  /// Share of the ageing term that temperature terms do not explain, 0 … 1: of
  /// the rate of which it is least, of those that fit.
  double separable = 0.0;
  /// Rates for the band: the best one, and over all that were looked at, two to
  /// a decade and both limits, as far as they are told from the curve.
  std::vector<AgeingRate> rates;
};

/// Below, the ageing term is for the most part what a curve could be as well.
/// Chosen: its uncertainty is then more than three times what it were alone.
inline constexpr double kLeastSeparable = 0.1;

/// Whether an end of B is open: then only the other, or neither, is known, and
/// the law says no more than a straight line in time or in its logarithm.
inline bool rate_identified(const Ageing& ageing) {
  return ageing.low_per_day.has_value() && ageing.high_per_day.has_value();
}

/// Looks for ageing beside the largest curve the points allow, so that only
/// what no curve could explain counts.
/// In:     times from the beginning of ageing on, as far as known
/// Out:    absent without times, with all times alike or one below zero, or
///         with too few points
/// Source: docs/drift.md#ageing
std::optional<Ageing> find_ageing(std::span<const DriftPoint> points,
                                  const CurveTerms& terms,
                                  const InstrumentTerms& instrument,
                                  double coverage);

}  // namespace clockassay
