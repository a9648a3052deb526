// SPDX-License-Identifier: GPL-3.0-or-later
#include "drift/lag.h"

#include <cmath>
#include <cstddef>
#include <numbers>

#include "drift/curve_row.h"
#include "drift/least_squares.h"
#include "drift/significance.h"

namespace clockassay {
namespace {

// The points as a linear problem about the fitted curve, ageing taken off; the
// last column is half a kelvin up, half a kelvin down.
struct LagProblem {
  Columns design;
  std::vector<Real> response;
  std::vector<Real> variance;
};

LagProblem lag_problem(std::span<const DriftPoint> points,
                       const CurveFit& fit) {
  LagProblem problem;
  const std::size_t terms = static_cast<std::size_t>(fit.model) + 2;
  problem.design.resize(terms + 1);
  for (std::size_t i = 0; i < points.size(); ++i) {
    CurvePlace place;
    place.temperature_c = fit.temperature[i];
    place.branch = points[i].sweep;
    const std::vector<Real> row = row_at(fit, place);
    for (std::size_t j = 0; j < terms; ++j) problem.design[j].push_back(row[j]);
    const Real value = bare_curve_at(fit, place).value;
    place.derivative = 1;
    const Real slope = bare_curve_at(fit, place).value;
    const bool up = points[i].sweep == Sweep::kUp;
    problem.design[terms].push_back((up ? 0.5L : -0.5L) * slope);
    problem.response.push_back(value + Real(fit.residual[i]));
    problem.variance.push_back(Real(fit.expected[i]) * Real(fit.expected[i]));
  }
  return problem;
}

}  // namespace

std::optional<Stated> sweep_lag(std::span<const DriftPoint> points,
                                const CurveFit& fit) {
  if (!fit.terms.sweeps) return std::nullopt;
  const LagProblem problem = lag_problem(points, fit);
  const int dof = static_cast<int>(points.size()) -
                  static_cast<int>(problem.design.size()) -
                  (fit.terms.ageing ? 1 : 0);
  if (dof < 1) return std::nullopt;
  const auto linear =
      solve_weighted(problem.design, problem.response, problem.variance);
  if (!linear) return std::nullopt;
  Real variance = 0.0L;
  Real magnitude = 0.0L;
  for (std::size_t i = 0; i < points.size(); ++i) {
    const Real w = linear->weights.back()[i];
    variance += w * w * problem.variance[i];
    magnitude += std::abs(w);
  }
  // A lag itself makes the scatter too large: it is judged by what is left.
  const double left = static_cast<double>(linear->chi_squared);
  constexpr double kSurprise = 0.05;  // as where a curve's scatter is judged
  const bool estimated = fit.scatter == Scatter::kEstimated ||
                         left > chi_squared_limit(kSurprise, dof);
  Stated lag;
  lag.value = static_cast<double>(linear->parameters.back());
  double sigma = static_cast<double>(std::sqrt(variance));
  if (estimated) sigma *= std::sqrt(left / dof);
  lag.error.normal_sigma =
      sigma * (estimated ? student_widening(fit.coverage, dof) : 1.0);
  lag.error.rectangle_half_width =
      fit.instrument.stability.value() * static_cast<double>(magnitude);
  lag.standard =
      std::hypot(sigma, lag.error.rectangle_half_width / std::numbers::sqrt3);
  lag.expanded = expanded_or_infinite(lag.error, fit.coverage);
  return lag;
}

}  // namespace clockassay
