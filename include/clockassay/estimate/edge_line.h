// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <optional>

#include "clockassay/base/result.h"
#include "clockassay/estimate/edge_sums.h"

namespace clockassay {

/// A least-squares line with one slope and an intercept per polarity.
struct LineFit {
  double slope = 0.0;           ///< y per k
  double rise_intercept = 0.0;  ///< y at k = 0
  std::optional<double> fall_intercept;
  double residual_squares = 0.0;       ///< sum over both polarities
  double rise_residual_squares = 0.0;  ///< of the rising edges alone
  double slope_variance = 0.0;         ///< of slope, per unit variance of one y
  std::int64_t dof = 0;
};

/// Least squares through both polarities' points with a common slope.
/// Model:  y = intercept(polarity) + slope * k + e
/// In:     fall.n may be 0
/// Out:    slope exact to a double; residual squares exact to a double
/// Assumes e independent of equal variance, for slope_variance alone
/// Errors: kTooFewEdges when fewer than two different k
/// Source: docs/measurement-model.md#edge-line
Result<LineFit> fit_line(const LineSums& rise, const LineSums& fall);

}  // namespace clockassay
