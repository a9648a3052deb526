// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <cstdint>

#include "clockassay/estimate/stability.h"

namespace clockassay {

/// A variance that is the mean of squares of differences of phases.
struct DifferenceVariance {
  int order = 2;  ///< of the differences: 2 Allan, 3 Hadamard
  /// How many spans of averaging make tau, the F of the source: 1 modified; m
  /// where each phase is a mean over tau0; infinity where each is an instant,
  /// as an edge is.
  double averaging = 1.0;
  std::int64_t stride = 1;  ///< terms that begin within tau: m overlapping
  std::int64_t terms = 1;   ///< how many
};

/// Equivalent degrees of freedom of such a variance.
/// Model:  C. A. Greenhall and W. J. Riley, "Uncertainty of stability variances
///         based on finite differences", PTTI 2003: sums of squares of the
///         terms' correlations. Sums of more than 1000 are made with terms
///         further apart instead, which for flicker of the phase is off by up
///         to 0.3 %, for other noise by less than 0.01 %.
/// In:     order 2 or 3, terms >= 1; averaging finite with flicker of the phase
double equivalent_dof(NoiseKind noise, const DifferenceVariance& variance);

/// Of the overlapping Allan variance of the phases of edges: averaging over m
/// with flicker of the phase, whose power would have no end, else none.
double allan_dof(NoiseKind noise, std::int64_t m, std::int64_t stride,
                 std::int64_t terms);

/// What a deviation is multiplied by for the ends of the interval that contains
/// the true one: sqrt(dof / chi-squared at (1 + coverage) / 2 and at
/// (1 - coverage) / 2).
struct DeviationInterval {
  double low;
  double high;
};
/// In: dof > 0, 0 < coverage < 1
DeviationInterval deviation_interval(double dof, double coverage);

}  // namespace clockassay
