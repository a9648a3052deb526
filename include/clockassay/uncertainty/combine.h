// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <optional>
#include <span>

namespace clockassay {

/// One independent contribution |c| u(x) to the uncertainty of a result, in
/// the unit of the result; k = 1.
struct Contribution {
  double standard_uncertainty = 0.0;
  std::optional<double> dof;  ///< degrees of freedom; absent: infinite
};

struct Combined {
  double standard_uncertainty = 0.0;
  std::optional<double> dof;  ///< effective, not truncated; absent: infinite
};

/// Root sum of squares, and the effective degrees of freedom of it.
/// Model:  u_c^2 = sum u_i^2;  nu_eff = u_c^4 / sum(u_i^4 / nu_i)
///         (Welch and Satterthwaite)
/// In:     contributions >= 0, dof > 0
/// Assumes independent contributions
/// Source: JCGM 100:2008, 5.1.2 and G.4.1
Combined combine(std::span<const Contribution> contributions);

}  // namespace clockassay
