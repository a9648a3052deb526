// SPDX-License-Identifier: GPL-3.0-or-later
#include "clockassay/estimate/student_t.h"

#include <boost/math/distributions/normal.hpp>
#include <boost/math/distributions/students_t.hpp>
#include <cassert>

namespace clockassay {

double student_t_two_sided(double coverage, std::optional<double> dof) {
  assert(coverage > 0.0 && coverage < 1.0);
  assert(!dof || *dof > 0.0);
  // Asked as a complement, so that coverages near 1 keep their digits.
  const double tail = 0.5 * (1.0 - coverage);
  if (!dof) return quantile(complement(boost::math::normal(), tail));
  return quantile(complement(boost::math::students_t(*dof), tail));
}

}  // namespace clockassay
