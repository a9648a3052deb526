// SPDX-License-Identifier: GPL-3.0-or-later
#include <algorithm>
#include <cmath>
#include <cstddef>

#include "clockassay/drift/assay.h"

namespace clockassay {
namespace {

// Chosen: a dip of a crystal is about as narrow as that; what was read farther
// away says nothing of it.
constexpr double kReach = 1.0;    // K
constexpr double kOnCurve = 3.0;  // standard deviations

bool is_marked(const DriftAssay& assay, std::size_t i) {
  return std::any_of(assay.outliers.begin(), assay.outliers.end(),
                     [i](const Outlier& o) { return o.point == i; });
}

bool is_beside(const DriftPoint& a, const DriftPoint& b) {
  const double u = std::hypot(a.u_temperature_c, b.u_temperature_c);
  return std::abs(a.temperature_c - b.temperature_c) <= kReach + 2.0 * u &&
         a.sweep == b.sweep;
}

// Whether each point lies on the curve without the marked ones, of which the
// fit has no residual.
std::vector<bool> on_curve(const DriftAssay& assay) {
  const CurveChoice& choice = *assay.without_outliers;
  const CurveFit& fit = choice.fits[choice.chosen];
  const double s = fit.instrument.stability.value() / std::sqrt(3.0);
  std::vector<bool> on;
  std::size_t left = 0;
  for (std::size_t i = 0; i < assay.points.size(); ++i) {
    if (is_marked(assay, i)) {
      on.push_back(false);
      continue;
    }
    const double deviation = std::hypot(std::sqrt(fit.variance[left]), s);
    on.push_back(std::abs(fit.residual[left]) <= kOnCurve * deviation);
    ++left;
  }
  return on;
}

}  // namespace

std::vector<Outlier> outvoted_points(const DriftAssay& assay) {
  std::vector<Outlier> out;
  if (!assay.without_outliers) return out;
  const std::vector<bool> on = on_curve(assay);
  for (const Outlier& o : assay.outliers) {
    std::size_t against = 0;
    std::size_t with = 0;
    for (std::size_t i = 0; i < assay.points.size(); ++i) {
      if (!is_beside(assay.points[o.point], assay.points[i])) continue;
      ++(on[i] ? against : with);
    }
    if (against >= 2 * with) out.push_back(o);
  }
  return out;
}

}  // namespace clockassay
