// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <optional>
#include <span>
#include <vector>

namespace clockassay {

/// Carried beyond double where the machine has it: a polynomial moved to
/// another origin loses three digits by cancellation, and data of few points
/// are cheap.
using Real = long double;

/// One column per parameter, each as long as the response.
using Columns = std::vector<std::vector<Real>>;

struct LinearFit {
  std::vector<Real> parameters;
  /// parameters[j] = sum over i of weights[j][i] * response[i]
  Columns weights;
  std::vector<Real> residuals;  ///< response - model
  std::vector<Real> leverage;   ///< of each point, 0 … 1; sum: the parameters
  Real chi_squared = 0.0L;      ///< sum of residual^2 / variance
};

/// Weighted linear least squares by QR with column pivoting.
/// Model:  response = design * parameters + e, e independent, var(e) = variance
/// In:     variance > 0; columns of comparable size
/// Out:    absent where the columns cannot be told apart or outnumber the
/// points Source: docs/drift.md#the-fit
std::optional<LinearFit> solve_weighted(const Columns& design,
                                        std::span<const Real> response,
                                        std::span<const Real> variance);

}  // namespace clockassay
