// SPDX-License-Identifier: GPL-3.0-or-later
#include "clockassay/uncertainty/combine.h"

#include <cassert>
#include <cmath>

namespace clockassay {

Combined combine(std::span<const Contribution> contributions) {
  double u_c = 0.0;
  for (const Contribution& c : contributions) {
    assert(c.standard_uncertainty >= 0.0 && (!c.dof || *c.dof > 0.0));
    u_c = std::hypot(u_c, c.standard_uncertainty);
  }
  // sum(u_i^4 / nu_i) / u_c^4, in shares so that no fourth power underflows.
  double inverse_dof = 0.0;
  for (const Contribution& c : contributions) {
    if (!c.dof || c.standard_uncertainty == 0.0) continue;
    const double share = c.standard_uncertainty / u_c;
    inverse_dof += share * share * share * share / *c.dof;
  }
  Combined combined{u_c, std::nullopt};
  if (inverse_dof > 0.0) combined.dof = 1.0 / inverse_dof;
  return combined;
}

}  // namespace clockassay
