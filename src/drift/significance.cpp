// SPDX-License-Identifier: GPL-3.0-or-later
#include "drift/significance.h"

#include <algorithm>
#include <boost/math/distributions/chi_squared.hpp>
#include <boost/math/distributions/fisher_f.hpp>

namespace clockassay {

double chi_squared_above(double x, int dof) {
  return cdf(complement(boost::math::chi_squared(dof), x));
}

double chi_squared_limit(double probability, int dof) {
  return quantile(complement(boost::math::chi_squared(dof), probability));
}

double f_above(double x, int terms, int dof) {
  return cdf(complement(boost::math::fisher_f(terms, dof), x));
}

double gain_by_chance(double gain, double left, int terms, int dof,
                      bool scale_known) {
  const double by_terms = std::max(0.0, gain);
  if (scale_known) return chi_squared_above(by_terms, terms);
  if (!(left > 0.0)) return by_terms > 0.0 ? 0.0 : 1.0;
  return f_above(by_terms / terms / (left / dof), terms, dof);
}

double f_limit(double probability, int terms, int dof) {
  return quantile(complement(boost::math::fisher_f(terms, dof), probability));
}

}  // namespace clockassay
