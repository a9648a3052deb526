// SPDX-License-Identifier: GPL-3.0-or-later
#include <algorithm>
#include <cmath>
#include <cstddef>
#include <limits>
#include <string>
#include <utility>

#include "base/median.h"
#include "clockassay/drift/curve.h"
#include "drift/curve_row.h"
#include "drift/least_squares.h"
#include "drift/significance.h"

namespace clockassay {
namespace {

// Stated uncertainties are taken for too small where a chi-squared as large
// would come of true ones but once in twenty. Chosen: one false alarm in twenty
// only widens, and what stays unseen is small (docs/drift.md#coverage).
constexpr double kSurprise = 0.05;
// Most likely temperatures settle within a few steps unless their errors are a
// good part of the span.
constexpr int kMostSteps = 200;
// Of the largest parameter: rounding, with some to spare.
constexpr Real kSettled = 64.0L * std::numeric_limits<Real>::epsilon();

tl::unexpected<Error> bad_series(std::string message, std::string hint) {
  return failure(ErrorCode::kBadData, std::move(message), std::move(hint));
}

std::optional<tl::unexpected<Error>> offence(const DriftPoint& point,
                                             std::size_t number,
                                             bool u_stated) {
  const std::string place = "point " + std::to_string(number) + ": ";
  if (!std::isfinite(point.temperature_c) ||
      !std::isfinite(point.error.value())) {
    return bad_series(place + "temperature or error is no number",
                      "leave the point out");
  }
  if (!(point.u_temperature_c >= 0.0) ||
      !std::isfinite(point.u_temperature_c)) {
    return bad_series(place + "the uncertainty of the temperature is " +
                          std::to_string(point.u_temperature_c) +
                          ", expected 0 or more",
                      "state a standard uncertainty in kelvin");
  }
  if (point.u.has_value() != u_stated) {
    return bad_series(place + "an uncertainty is stated of some points only",
                      "state u for every point, or for none: then the scatter "
                      "about the curve is used");
  }
  if (u_stated &&
      (!(point.u->value() >= 0.0) || !std::isfinite(point.u->value()))) {
    return bad_series(place + "the uncertainty is " +
                          std::to_string(point.u->value()) +
                          " ppm, expected 0 or more",
                      "state a standard uncertainty");
  }
  return std::nullopt;
}

// What the iteration carries from step to step.
struct Progress {
  std::vector<Real> temperature;  // most likely
  std::vector<Real> slope;        // of the curve there
  std::vector<Real> variance;     // of the response, with the temperature's
  LinearFit linear;
};

std::vector<Real> base_variance(std::span<const DriftPoint> points,
                                const CurveFit& fit) {
  // The stability counts as if independent where points are weighted and their
  // scatter is judged: else a point of tiny u would bear all the weight.
  const Real stability = fit.instrument.stability.value();
  std::vector<Real> variance;
  for (const DriftPoint& p : points) {
    const Real u = p.u ? Real(p.u->value()) : 0.0L;
    variance.push_back(p.u ? u * u + stability * stability / 3.0L
                           : Real(fit.terms.own_variance.value_or(1.0)));
  }
  return variance;
}

Columns design_of(std::span<const DriftPoint> points, const CurveFit& fit,
                  const std::vector<Real>& temperature) {
  const int degree = static_cast<int>(fit.model);
  Columns design(static_cast<std::size_t>(degree) + 1);
  for (std::size_t i = 0; i < points.size(); ++i) {
    const Real x = (temperature[i] - Real(fit.centre_c)) / Real(fit.scale_c);
    Real power = 1.0L;
    for (std::vector<Real>& column : design) {
      column.push_back(power);
      power *= x;
    }
  }
  if (fit.terms.sweeps) {
    design.emplace_back();
    for (const DriftPoint& p : points) {
      design.back().push_back(p.sweep == Sweep::kUp ? 0.5L : -0.5L);
    }
  }
  if (fit.terms.ageing) {
    double last_s = points[0].time_s.value_or(0.0);
    for (const DriftPoint& p : points) last_s = std::max(last_s, *p.time_s);
    design.emplace_back();
    for (const DriftPoint& p : points) {
      design.back().push_back(
          ageing_term(*fit.terms.ageing, *p.time_s, last_s));
    }
  }
  return design;
}

Real slope_at(const CurveFit& fit, const std::vector<Real>& parameters,
              Real temperature) {
  const Real x = (temperature - Real(fit.centre_c)) / Real(fit.scale_c);
  Real slope = 0.0L;
  for (int k = static_cast<int>(fit.model); k >= 1; --k) {
    slope = slope * x + Real(k) * parameters[static_cast<std::size_t>(k)];
  }
  return slope / Real(fit.scale_c);
}

// By how much the parameters moved, of the largest of them.
Real movement(const std::vector<Real>& before, const std::vector<Real>& after) {
  if (before.empty()) return std::numeric_limits<Real>::infinity();
  Real moved = 0.0L;
  Real largest = 0.0L;
  for (std::size_t j = 0; j < after.size(); ++j) {
    moved = std::max(moved, std::abs(after[j] - before[j]));
    largest = std::max(largest, std::abs(after[j]));
  }
  return largest > 0.0L ? moved / largest : 0.0L;
}

// One step of Britt and Luecke: the curve is straight about the most likely
// temperatures, so their errors join those of the response. Gives how far
// parameters and temperatures moved; absent where they cannot be told apart.
std::optional<Real> step(std::span<const DriftPoint> points,
                         const std::vector<Real>& base, const CurveFit& fit,
                         Progress& now) {
  std::vector<Real> response;
  for (std::size_t i = 0; i < points.size(); ++i) {
    const Real spread = now.slope[i] * Real(points[i].u_temperature_c);
    const Real off = Real(points[i].temperature_c) - now.temperature[i];
    response.push_back(Real(points[i].error.value()) - now.slope[i] * off);
    now.variance[i] = base[i] + spread * spread;
  }
  auto linear = solve_weighted(design_of(points, fit, now.temperature),
                               response, now.variance);
  if (!linear) return std::nullopt;
  Real moved = movement(now.linear.parameters, linear->parameters);
  now.linear = std::move(*linear);
  for (std::size_t i = 0; i < points.size(); ++i) {
    const Real u = Real(points[i].u_temperature_c);
    const Real before = now.temperature[i];
    now.temperature[i] =
        Real(points[i].temperature_c) +
        now.slope[i] * u * u / now.variance[i] * now.linear.residuals[i];
    moved = std::max(moved,
                     std::abs(now.temperature[i] - before) / Real(fit.scale_c));
    now.slope[i] = slope_at(fit, now.linear.parameters, now.temperature[i]);
  }
  return moved;
}

void place_scale(std::span<const DriftPoint> points, CurveFit& fit) {
  double low = points[0].temperature_c;
  double high = low;
  for (const DriftPoint& p : points) {
    low = std::min(low, p.temperature_c);
    high = std::max(high, p.temperature_c);
  }
  fit.centre_c = 0.5 * low + 0.5 * high;
  const double half = 0.5 * (high - low);
  fit.scale_c = half > 0.0 ? std::exp2(std::ceil(std::log2(half))) : 1.0;
}

void judge_scatter(bool u_stated, CurveFit& fit) {
  if (fit.dof >= 1) {
    fit.birge_ratio = std::sqrt(fit.chi_squared / fit.dof);
  }
  if (!u_stated) {
    fit.scatter = Scatter::kEstimated;
    return;
  }
  if (fit.dof < 1) return;
  if (fit.chi_squared > chi_squared_limit(kSurprise, fit.dof)) {
    fit.scatter = Scatter::kTooLarge;
  }
}

// The independent part of each point's variance. The stability is no part of it
// unless the scatter shows more than all that is stated: its bound stands
// apart.
//
// Where no u is stated, no point is taken for better than all are on the whole:
// few of them may tell the scatter where the curve is level, and they may lie
// close to it by chance.
void fill_variances(std::span<const DriftPoint> points, const Progress& end,
                    CurveFit& fit) {
  const double birge = fit.birge_ratio.value_or(1.0);
  Real squares = 0.0L;
  for (const Real r : end.linear.residuals) squares += r * r;
  const double overall =
      fit.dof < 1 ? 0.0 : static_cast<double>(squares / Real(fit.dof));
  for (std::size_t i = 0; i < points.size(); ++i) {
    const double whole = static_cast<double>(end.variance[i]);
    double own = whole;
    fit.expected.push_back(std::sqrt(whole));
    if (fit.scatter == Scatter::kAsStated) {
      const double s = fit.instrument.stability.value();
      own = std::max(0.0, whole - s * s / 3.0);
    } else {
      own *= birge * birge;
    }
    if (fit.scatter == Scatter::kEstimated) own = std::max(own, overall);
    fit.variance.push_back(own);
    fit.temperature.push_back(static_cast<double>(end.temperature[i]));
    fit.residual.push_back(static_cast<double>(end.linear.residuals[i]));
    fit.leverage.push_back(static_cast<double>(end.linear.leverage[i]));
  }
}

// What one more reading would scatter by, if it were as good as the median one.
void fill_reading(std::span<const DriftPoint> points, CurveFit& fit) {
  std::vector<double> own;
  std::vector<double> temperature;
  for (std::size_t i = 0; i < points.size(); ++i) {
    const double u = points[i].u_temperature_c;
    temperature.push_back(u * u);
    own.push_back(points[i].u ? std::pow(points[i].u->value(), 2)
                              : fit.terms.own_variance.value_or(1.0));
  }
  fit.reading_variance = median(std::move(own));
  fit.reading_temperature_variance = median(std::move(temperature));
  if (fit.scatter == Scatter::kAsStated) return;
  const double widened = std::pow(fit.birge_ratio.value_or(1.0), 2);
  // What is not stated may be the clock's own: none of it is the instrument's.
  const double s = fit.instrument.stability.value();
  if (fit.scatter == Scatter::kTooLarge) fit.reading_variance += s * s / 3.0;
  fit.reading_variance *= widened;
  fit.reading_temperature_variance *= widened;
  if (fit.scatter != Scatter::kEstimated) return;
  double squares = 0.0;
  for (const double r : fit.residual) squares += r * r;
  if (fit.dof >= 1) {
    fit.reading_variance = std::max(fit.reading_variance, squares / fit.dof);
  }
}

Result<void> check_series(std::span<const DriftPoint> points,
                          const CurveFit& fit) {
  if (points.empty()) return bad_series("no points", "measure some");
  const bool u_stated = points[0].u.has_value();
  for (std::size_t i = 0; i < points.size(); ++i) {
    if (auto wrong = offence(points[i], i + 1, u_stated)) return *wrong;
    if (points[i].board != points[0].board) {
      return bad_series("points of boards \"" + points[0].board + "\" and \"" +
                            points[i].board + "\" in one curve",
                        "fit each board by itself");
    }
    if (fit.terms.ageing && !points[i].time_s) {
      return bad_series("point " + std::to_string(i + 1) + " has no time",
                        "ageing needs the time of every point");
    }
  }
  return {};
}

// The fit with the variances that are stated or set; absent where parameters
// cannot be told apart.
std::optional<Progress> settled(std::span<const DriftPoint> points,
                                CurveFit& fit) {
  const std::vector<Real> base = base_variance(points, fit);
  Progress now;
  for (const DriftPoint& p : points) now.temperature.push_back(p.temperature_c);
  now.slope.assign(points.size(), 0.0L);
  now.variance.assign(points.size(), 0.0L);
  fit.converged = false;
  for (int i = 0; i < kMostSteps && !fit.converged; ++i) {
    const auto moved = step(points, base, fit, now);
    if (!moved) return std::nullopt;
    fit.converged = *moved <= kSettled;
  }
  return now;
}

// The variance that makes chi-squared what true ones would: the errors of the
// temperatures stay as stated, so that a steep end is not thought as well known
// as a level middle. Chi-squared falls with it: bisection of its logarithm.
std::optional<double> estimated_variance(std::span<const DriftPoint> points,
                                         const CurveFit& fit) {
  std::vector<DriftPoint> exact(points.begin(), points.end());
  for (DriftPoint& p : exact) p.u_temperature_c = 0.0;
  CurveFit trial = fit;
  trial.terms.own_variance = 1.0;
  const auto plain = settled(exact, trial);
  const double dof = static_cast<double>(points.size()) -
                     static_cast<double>(plain ? plain->linear.parameters.size()
                                               : points.size());
  if (!plain || dof < 1.0) return std::nullopt;
  const double whole = static_cast<double>(plain->linear.chi_squared) / dof;
  if (!(whole > 0.0)) return std::nullopt;
  // All of the scatter, or a millionth of it where temperatures explain the
  // rest.
  double high = std::log(4.0 * whole);
  double low = std::log(1e-6 * whole);
  constexpr int kHalvings = 40;  // to 1e-11 of the logarithm
  for (int i = 0; i < kHalvings; ++i) {
    const double middle = 0.5 * (low + high);
    trial.terms.own_variance = std::exp(middle);
    const auto now = settled(points, trial);
    if (!now) return std::nullopt;
    (static_cast<double>(now->linear.chi_squared) > dof ? low : high) = middle;
  }
  return std::exp(high);
}

tl::unexpected<Error> not_told_apart(CurveModel model) {
  return bad_series(
      std::string("the temperatures do not tell a ") + curve_model_name(model) +
          " apart from other curves",
      "it takes " + std::to_string(static_cast<int>(model) + 1) +
          " different temperatures at least, and more for sweeps and ageing");
}

bool any_temperature_error(std::span<const DriftPoint> points) {
  return std::any_of(points.begin(), points.end(), [](const DriftPoint& p) {
    return p.u_temperature_c > 0.0;
  });
}

}  // namespace

const char* curve_model_name(CurveModel model) {
  switch (model) {
    case CurveModel::kLine:
      return "line";
    case CurveModel::kParabola:
      return "parabola";
    case CurveModel::kCubic:
      return "cubic";
  }
  return "curve of higher degree";
}

Result<CurveFit> fit_curve(std::span<const DriftPoint> points, CurveModel model,
                           const CurveTerms& terms,
                           const InstrumentTerms& instrument, double coverage) {
  CurveFit fit;
  fit.model = model;
  fit.terms = terms;
  fit.instrument = instrument;
  fit.coverage = coverage;
  if (auto sound = check_series(points, fit); !sound) {
    return tl::unexpected<Error>(sound.error());
  }
  place_scale(points, fit);
  const bool u_stated = points[0].u.has_value();
  if (!u_stated && !terms.own_variance && any_temperature_error(points)) {
    fit.terms.own_variance = estimated_variance(points, fit);
  }
  const std::vector<Real> base = base_variance(points, fit);
  if (*std::min_element(base.begin(), base.end()) <= 0.0L) {
    return bad_series("a point with no uncertainty at all",
                      "state its u, or the stability of the instrument");
  }
  const auto end = settled(points, fit);
  if (!end) return not_told_apart(model);
  fit.parameters = end->linear.parameters;
  fit.weights = end->linear.weights;
  fit.chi_squared = static_cast<double>(end->linear.chi_squared);
  fit.dof =
      static_cast<int>(points.size()) - static_cast<int>(fit.parameters.size());
  judge_scatter(u_stated, fit);
  fill_variances(points, *end, fit);
  fill_reading(points, fit);
  return fit;
}

}  // namespace clockassay
