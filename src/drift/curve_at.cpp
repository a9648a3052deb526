// SPDX-License-Identifier: GPL-3.0-or-later
#include <cmath>
#include <cstddef>
#include <limits>
#include <numbers>

#include "clockassay/drift/curve.h"
#include "clockassay/estimate/student_t.h"
#include "drift/curve_row.h"

namespace clockassay {
namespace {

double sweep_share(Sweep sweep) {
  if (sweep == Sweep::kNotStated) return 0.0;
  return sweep == Sweep::kUp ? 0.5 : -0.5;
}

// Index of the parameter of A, behind that of the sweep offset.
std::size_t ageing_index(const CurveFit& fit) {
  return static_cast<std::size_t>(fit.model) + 1 + (fit.terms.sweeps ? 1 : 0);
}

}  // namespace

Real power_term(const CurveFit& fit, double temperature_c, int power, int m) {
  if (m > power) return 0.0L;
  const Real x = (Real(temperature_c) - Real(fit.centre_c)) / Real(fit.scale_c);
  Real term = 1.0L;
  for (int k = 0; k < m; ++k) term *= Real(power - k) / Real(fit.scale_c);
  for (int k = 0; k < power - m; ++k) term *= x;
  return term;
}

Real ageing_term(AgeingRate rate, double time_s, double last_s) {
  const Real t = Real(time_s) / Real(kSecondsPerDay);
  const Real last = Real(last_s) / Real(kSecondsPerDay);
  if (rate.per_day == 0.0) return t - last;
  if (std::isinf(rate.per_day)) return std::log(t / last);
  const Real b = rate.per_day;
  return std::log1p(b * t) - std::log1p(b * last);
}

std::vector<Real> row_at(const CurveFit& fit, const CurvePlace& place) {
  std::vector<Real> row(fit.parameters.size(), 0.0L);
  const int degree = static_cast<int>(fit.model);
  for (int k = 0; k <= degree; ++k) {
    Real& term = row[static_cast<std::size_t>(k)];
    term = power_term(fit, place.temperature_c, k, place.derivative);
    if (!place.relative_to_c) continue;
    term -= power_term(fit, *place.relative_to_c, k, place.derivative);
  }
  // What it is relative to is the mean of both branches.
  if (fit.terms.sweeps && place.derivative == 0) {
    row[static_cast<std::size_t>(degree) + 1] = sweep_share(place.branch);
  }
  return row;
}

double expanded_or_infinite(const ErrorDistribution& error, double coverage) {
  if (is_proper(error)) return expanded_half_width(error, coverage);
  const bool none =
      error.normal_sigma == 0.0 && error.rectangle_half_width == 0.0;
  return none ? 0.0 : std::numeric_limits<double>::infinity();
}

double student_widening(double coverage, int dof) {
  if (dof < 1) return std::numeric_limits<double>::infinity();
  return student_t_two_sided(coverage, dof) /
         student_t_two_sided(coverage, std::nullopt);
}

std::vector<Real> point_shares(const CurveFit& fit,
                               const std::vector<Real>& row) {
  std::vector<Real> shares(fit.variance.size(), 0.0L);
  for (std::size_t j = 0; j < row.size(); ++j) {
    for (std::size_t i = 0; i < shares.size(); ++i) {
      shares[i] += row[j] * fit.weights[j][i];
    }
  }
  return shares;
}

namespace {

Real times_parameters(const CurveFit& fit, const std::vector<Real>& row) {
  Real value = 0.0L;
  for (std::size_t j = 0; j < row.size(); ++j) {
    value += row[j] * fit.parameters[j];
  }
  return value;
}

// How far a figure may move with the curve along the temperatures: all terms of
// the Taylor series, of which a polynomial has no others.
double moved_by_thermometer(const CurveFit& fit, CurvePlace place) {
  const double bound = fit.instrument.thermometer_k;
  if (!(bound > 0.0)) return 0.0;
  double moved = 0.0;
  double factor = 1.0;
  for (int k = 1; k <= static_cast<int>(fit.model); ++k) {
    ++place.derivative;
    factor *= bound / k;
    moved += factor * std::abs(static_cast<double>(
                          times_parameters(fit, row_at(fit, place))));
  }
  return moved;
}

// row * parameters, with its error but without U.
Stated bare_figure_of_row(const CurveFit& fit, const std::vector<Real>& row,
                          double moved) {
  Real variance = 0.0L;
  Real sum = 0.0L;
  Real magnitude = 0.0L;
  const std::vector<Real> shares = point_shares(fit, row);
  for (std::size_t i = 0; i < shares.size(); ++i) {
    variance += shares[i] * shares[i] * Real(fit.variance[i]);
    sum += shares[i];
    magnitude += std::abs(shares[i]);
  }
  Stated stated;
  stated.value = static_cast<double>(times_parameters(fit, row));
  const double sigma = static_cast<double>(std::sqrt(variance));
  stated.error.normal_sigma = sigma;
  if (fit.scatter != Scatter::kAsStated) {
    stated.error.normal_sigma *= student_widening(fit.coverage, fit.dof);
  }
  // The bounds are added: the common term stands whatever the stability and the
  // thermometer do, and together they are no wider than all at their worst.
  stated.error.rectangle_half_width =
      fit.instrument.common.value() * std::abs(static_cast<double>(sum)) +
      fit.instrument.stability.value() * static_cast<double>(magnitude) + moved;
  stated.standard = std::hypot(
      sigma, stated.error.rectangle_half_width / std::numbers::sqrt3);
  return stated;
}

Stated figure_of_row(const CurveFit& fit, const std::vector<Real>& row,
                     double moved) {
  Stated stated = bare_figure_of_row(fit, row, moved);
  stated.expanded = expanded_or_infinite(stated.error, fit.coverage);
  return stated;
}

}  // namespace

Stated bare_curve_at(const CurveFit& fit, const CurvePlace& place) {
  return bare_figure_of_row(fit, row_at(fit, place),
                            moved_by_thermometer(fit, place));
}

double reading_variance_at(const CurveFit& fit, double temperature_c) {
  CurvePlace slope;
  slope.temperature_c = temperature_c;
  slope.derivative = 1;
  const double per_k =
      static_cast<double>(times_parameters(fit, row_at(fit, slope)));
  const double variance =
      fit.reading_variance + per_k * per_k * fit.reading_temperature_variance;
  if (fit.scatter == Scatter::kAsStated) return variance;
  return variance * std::pow(student_widening(fit.coverage, fit.dof), 2);
}

Stated curve_at(const CurveFit& fit, const CurvePlace& place) {
  return figure_of_row(fit, row_at(fit, place),
                       moved_by_thermometer(fit, place));
}

std::vector<Stated> curve_coefficients(const CurveFit& fit,
                                       double reference_c) {
  std::vector<Stated> coefficients;
  Real factorial = 1.0L;
  for (int m = 0; m <= static_cast<int>(fit.model); ++m) {
    if (m > 1) factorial *= m;
    CurvePlace place;
    place.temperature_c = reference_c;
    place.derivative = m;
    std::vector<Real> row = row_at(fit, place);
    for (Real& term : row) term /= factorial;
    coefficients.push_back(figure_of_row(
        fit, row,
        moved_by_thermometer(fit, place) / static_cast<double>(factorial)));
  }
  return coefficients;
}

std::optional<Stated> sweep_offset(const CurveFit& fit) {
  if (!fit.terms.sweeps) return std::nullopt;
  std::vector<Real> row(fit.parameters.size(), 0.0L);
  row[static_cast<std::size_t>(fit.model) + 1] = 1.0L;
  return figure_of_row(fit, row, 0.0);
}

std::optional<Stated> ageing_slope(const CurveFit& fit) {
  if (!fit.terms.ageing) return std::nullopt;
  std::vector<Real> row(fit.parameters.size(), 0.0L);
  row[ageing_index(fit)] = 1.0L;
  return figure_of_row(fit, row, 0.0);
}

}  // namespace clockassay
