// SPDX-License-Identifier: GPL-3.0-or-later
#include "drift/measured_fail.h"

#include <algorithm>
#include <cmath>
#include <vector>

#include "clockassay/estimate/student_t.h"
#include "drift/curve_row.h"
#include "drift/set_points.h"
#include "drift/within_span.h"

namespace clockassay {
namespace {

bool is_marked(const DriftAssay& assay, std::size_t i) {
  return std::any_of(assay.outliers.begin(), assay.outliers.end(),
                     [i](const Outlier& o) { return o.point == i; });
}

// Normal deviates by Student's t where the scatter is estimated. One-sided, and
// over all points: any of them may be beyond by chance (Bonferroni).
double normal_factor(const CurveFit& fit, const LocalScatter& local,
                     double ratio) {
  const double points = static_cast<double>(fit.residual.size());
  const double coverage = 1.0 - (1.0 - fit.coverage) / points;
  const bool estimated = fit.scatter == Scatter::kEstimated || ratio > 1.0;
  return student_t_two_sided(
      coverage, estimated ? std::optional(local.dof) : std::nullopt);
}

double slope_at(const CurveFit& fit, double temperature_c) {
  CurvePlace place;
  place.temperature_c = temperature_c;
  place.derivative = 1;
  return bare_curve_at(fit, place).value;
}

// Of errors relative to the curve at a temperature, what that is off by.
double datum_expanded(const DriftAssay& assay, double datum_c) {
  CurveFit alone = chosen_fit(assay);
  alone.instrument.common = Ppm(0.0);  // it shifts points and curve alike
  const CurvePlace place{datum_c, 0, Sweep::kNotStated, {}};
  return curve_at(alone, place).expanded + assay.choice.misfit_ppm;
}

}  // namespace

LocalScatter local_scatter(const CurveFit& fit) {
  std::vector<std::size_t> order(fit.residual.size());
  for (std::size_t i = 0; i < order.size(); ++i) order[i] = i;
  std::sort(order.begin(), order.end(), [&](std::size_t a, std::size_t b) {
    return fit.temperature[a] < fit.temperature[b];
  });
  double sum = 0.0;
  int count = 0;
  for (std::size_t k = 1; k + 1 < order.size(); ++k) {
    const std::size_t a = order[k - 1];
    const std::size_t b = order[k];
    const std::size_t c = order[k + 1];
    const double width = fit.temperature[c] - fit.temperature[a];
    const double share =
        width > 0.0 ? (fit.temperature[b] - fit.temperature[a]) / width : 0.5;
    const double off = fit.residual[b] - (1.0 - share) * fit.residual[a] -
                       share * fit.residual[c];
    const double expected = std::pow(fit.expected[b], 2) +
                            std::pow((1.0 - share) * fit.expected[a], 2) +
                            std::pow(share * fit.expected[c], 2);
    sum += off * off / expected;
    ++count;
  }
  if (count == 0) return {};
  // Neighbouring differences of second order correlate by -2/3 and 1/6, so
  // that 1 + 2 (4/9 + 1/36) of them tell as much as one.
  constexpr double kOverlap = 1.0 + 2.0 * (4.0 / 9.0 + 1.0 / 36.0);
  return {std::sqrt(sum / count),
          std::max(1, static_cast<int>(count / kOverlap))};
}

namespace {

// Readings of one set point share what was off there, so that their neighbours
// show less than there is: then the means tell, if they tell more.
LocalScatter scatter_of(const DriftAssay& assay) {
  const CurveFit& fit = chosen_fit(assay);
  const SetPoints sets = set_points(assay.points);
  const LocalScatter each = local_scatter(fit);
  if (sets.size.size() == assay.points.size()) return each;
  CurveFit means;
  means.temperature.resize(sets.size.size());
  means.residual.resize(sets.size.size());
  means.expected.resize(sets.size.size());
  for (std::size_t i = 0; i < assay.points.size(); ++i) {
    const std::size_t g = sets.of[i];
    const double n = static_cast<double>(sets.size[g]);
    means.temperature[g] += fit.temperature[i] / n;
    means.residual[g] += fit.residual[i] / n;
    means.expected[g] = std::max(means.expected[g], fit.expected[i]);
  }
  const LocalScatter of_means = local_scatter(means);
  return {std::max(each.ratio, of_means.ratio), of_means.dof};
}

}  // namespace

std::optional<MeasuredFail> measured_fail(const DriftAssay& assay,
                                          const RangeLimits& limits) {
  const CurveFit& fit = chosen_fit(assay);
  const LocalScatter local = scatter_of(assay);
  const bool estimated = fit.scatter == Scatter::kEstimated;
  if (local.dof == 0 && estimated) return std::nullopt;
  const double ratio = estimated ? local.ratio : std::max(1.0, local.ratio);
  const double factor = normal_factor(fit, local, ratio);
  const InstrumentTerms& terms = fit.instrument;
  double datum_value = 0.0;
  double datum = 0.0;
  double bound = terms.common.value() + terms.stability.value();
  if (limits.relative_to_c) {
    const CurvePlace place{*limits.relative_to_c, 0, Sweep::kNotStated, {}};
    datum_value = bare_curve_at(fit, place).value;
    datum = datum_expanded(assay, *limits.relative_to_c);
    bound = terms.stability.value();
  }
  std::optional<MeasuredFail> found;
  double most = 0.0;
  for (std::size_t i = 0; i < assay.points.size(); ++i) {
    const DriftPoint& p = assay.points[i];
    if (!within(p.temperature_c, limits.range) || is_marked(assay, i)) continue;
    const double error = p.error.value() - datum_value;
    const double expanded =
        factor * ratio * fit.expected[i] + bound + datum +
        std::abs(slope_at(fit, p.temperature_c)) * terms.thermometer_k;
    const double beyond =
        std::max(error - limits.high.value(), limits.low.value() - error) -
        expanded;
    if (!(beyond > most)) continue;
    most = beyond;
    found = MeasuredFail{i, error, expanded};
  }
  return found;
}

}  // namespace clockassay
