// SPDX-License-Identifier: GPL-3.0-or-later
#include "drift/set_points.h"

#include <algorithm>
#include <cmath>
#include <numeric>
#include <utility>

#include "base/median.h"
#include "drift/curve_row.h"
#include "drift/significance.h"

namespace clockassay {
namespace {

// Chosen: what a chamber holds, and what counts as one temperature where
// different ones are counted.
constexpr double kNear = 1.0;  // K
constexpr double kShare = 1.0 / 16.0;
constexpr double kSurprise = 0.05;  // as where a curve's scatter is judged

double square(double x) {
  return x * x;
}

std::vector<std::size_t> in_order(std::size_t count) {
  std::vector<std::size_t> order(count);
  std::iota(order.begin(), order.end(), std::size_t{0});
  return order;
}

// Of each reading the lowest one at its temperature and on its way.
std::vector<std::size_t> temperatures(std::span<const DriftPoint> points) {
  std::vector<std::size_t> order = in_order(points.size());
  std::stable_sort(order.begin(), order.end(),
                   [&](std::size_t a, std::size_t b) {
                     return points[a].temperature_c < points[b].temperature_c;
                   });
  std::vector<std::size_t> lead(points.size());
  if (points.empty()) return lead;
  const double span =
      points[order.back()].temperature_c - points[order.front()].temperature_c;
  const double step = std::min(kNear, kShare * span);
  for (const Sweep sweep : {Sweep::kNotStated, Sweep::kUp, Sweep::kDown}) {
    std::optional<std::size_t> now;
    for (const std::size_t i : order) {
      if (points[i].sweep != sweep) continue;
      const bool is_new =
          !now ||
          !(points[i].temperature_c - points[*now].temperature_c <= step);
      if (is_new) now = i;
      lead[i] = *now;
    }
  }
  return lead;
}

bool all_timed(std::span<const DriftPoint> points) {
  return std::all_of(points.begin(), points.end(),
                     [](const DriftPoint& p) { return p.time_s.has_value(); });
}

double slope_at(const CurveFit& fit, double temperature_c) {
  CurvePlace place;
  place.temperature_c = temperature_c;
  place.derivative = 1;
  return bare_curve_at(fit, place).value;
}

// By how much more than is stated readings scatter about their means; 1 where
// that is no surprise. Their temperatures may scatter by all of their u.
double own_ratio(std::span<const DriftPoint> points, const SetPoints& sets,
                 const std::vector<double>& off, const CurveFit& fit) {
  double sum = 0.0;
  for (std::size_t i = 0; i < points.size(); ++i) {
    if (!points[i].u || !(points[i].u->value() > 0.0)) return 1.0;
    if (sets.size[sets.of[i]] < 2) continue;
    const double along = slope_at(fit, points[i].temperature_c);
    sum += square(off[i]) / (square(points[i].u->value()) +
                             square(along * points[i].u_temperature_c));
  }
  const int dof = static_cast<int>(points.size() - sets.size.size());
  if (dof < 1 || sum <= chi_squared_limit(kSurprise, dof)) return 1.0;
  return std::sqrt(sum / dof);
}

// What each reading is off the mean of its set point, along the curve.
std::vector<double> off_means(std::span<const DriftPoint> points,
                              const std::vector<DriftPoint>& means,
                              const SetPoints& sets, const CurveFit& fit) {
  std::vector<double> slope;
  for (const DriftPoint& m : means) {
    slope.push_back(slope_at(fit, m.temperature_c));
  }
  std::vector<double> off;
  for (std::size_t i = 0; i < points.size(); ++i) {
    const std::size_t g = sets.of[i];
    off.push_back(points[i].error.value() - means[g].error.value() -
                  slope[g] *
                      (points[i].temperature_c - means[g].temperature_c));
  }
  return off;
}

// One more reading is one, not the mean of several.
void fill_reading(std::span<const DriftPoint> points, const SetPoints& sets,
                  const std::vector<double>& off, double ratio, CurveFit& fit) {
  if (fit.scatter == Scatter::kEstimated) {
    double sum = 0.0;
    for (const double o : off) sum += o * o;
    fit.reading_variance +=
        sum / static_cast<double>(points.size() - sets.size.size());
    return;
  }
  std::vector<double> own;
  for (const DriftPoint& p : points) own.push_back(square(p.u->value()));
  const double s = fit.instrument.stability.value();
  const bool large = fit.scatter == Scatter::kTooLarge;
  const double birge = large ? fit.birge_ratio.value_or(1.0) : 1.0;
  fit.reading_variance = std::max(
      fit.reading_variance,
      square(ratio) * (median(std::move(own)) + (large ? s * s / 3.0 : 0.0)) *
          square(birge));
}

// From figures of the means to those of the readings.
void spread(std::span<const DriftPoint> points, const SetPoints& sets,
            const std::vector<DriftPoint>& means,
            const std::vector<double>& off, CurveFit& fit) {
  CurveFit whole = fit;
  const std::size_t count = points.size();
  for (auto* list : {&fit.variance, &fit.temperature, &fit.residual,
                     &fit.expected, &fit.leverage}) {
    list->resize(count);
  }
  for (auto& row : fit.weights) row.resize(count);
  const double s = fit.instrument.stability.value();
  for (std::size_t i = 0; i < count; ++i) {
    const std::size_t g = sets.of[i];
    const double n = static_cast<double>(sets.size[g]);
    fit.variance[i] = n * whole.variance[g];
    fit.temperature[i] =
        whole.temperature[g] + points[i].temperature_c - means[g].temperature_c;
    fit.residual[i] = whole.residual[g] + off[i];
    fit.leverage[i] = whole.leverage[g] / n;
    fit.expected[i] = whole.expected[g];
    if (points[i].u) {
      const double along = slope_at(whole, means[g].temperature_c);
      fit.expected[i] = std::sqrt(square(points[i].u->value()) + s * s / 3.0 +
                                  square(along * points[i].u_temperature_c));
    }
    for (std::size_t j = 0; j < fit.weights.size(); ++j) {
      fit.weights[j][i] = whole.weights[j][g] / Real(n);
    }
  }
}

}  // namespace

SetPoints set_points(std::span<const DriftPoint> points) {
  const std::vector<std::size_t> lead = temperatures(points);
  std::vector<std::size_t> order = in_order(points.size());
  const bool timed = all_timed(points);
  if (timed) {
    std::stable_sort(order.begin(), order.end(),
                     [&](std::size_t a, std::size_t b) {
                       return *points[a].time_s < *points[b].time_s;
                     });
  }
  SetPoints sets;
  sets.of.resize(points.size());
  std::vector<std::optional<std::size_t>> set_of(points.size());
  for (std::size_t k = 0; k < order.size(); ++k) {
    const std::size_t i = order[k];
    // Come back later is another visit, with errors of its own.
    const bool left = timed && k > 0 && lead[order[k - 1]] != lead[i];
    if (!set_of[lead[i]] || left) {
      set_of[lead[i]] = sets.size.size();
      sets.size.push_back(0);
    }
    sets.of[i] = *set_of[lead[i]];
    ++sets.size[sets.of[i]];
  }
  return sets;
}

namespace {

std::vector<DriftPoint> means_of(std::span<const DriftPoint> points,
                                 const SetPoints& sets, double ratio) {
  std::vector<DriftPoint> means(sets.size.size());
  std::vector<bool> begun(means.size(), false);
  for (std::size_t i = 0; i < points.size(); ++i) {
    const DriftPoint& p = points[i];
    const std::size_t g = sets.of[i];
    const double n = static_cast<double>(sets.size[g]);
    DriftPoint& m = means[g];
    if (!begun[g]) {
      begun[g] = true;
      m = p;
      if (n == 1.0) continue;
      m.temperature_c = 0.0;
      m.error = Ppm(0.0);
      if (p.time_s) m.time_s = 0.0;
      if (p.u) m.u = Ppm(0.0);
    }
    m.temperature_c += p.temperature_c / n;
    m.error = m.error + Ppm(p.error.value() / n);
    if (m.time_s) *m.time_s += p.time_s.value_or(0.0) / n;
    // Common to all of them: the largest that is stated.
    m.u_temperature_c = std::max(m.u_temperature_c, p.u_temperature_c);
    if (m.u && p.u) {
      m.u = Ppm(std::hypot(m.u->value(), ratio * p.u->value() / n));
    }
  }
  return means;
}

}  // namespace

std::vector<DriftPoint> set_point_means(std::span<const DriftPoint> points) {
  return means_of(points, set_points(points), 1.0);
}

Result<CurveFit> fit_set_points(std::span<const DriftPoint> points,
                                CurveModel model, const CurveTerms& terms,
                                const InstrumentTerms& instrument,
                                double coverage) {
  const SetPoints sets = set_points(points);
  const bool mixed =
      std::any_of(points.begin(), points.end(), [&](const DriftPoint& p) {
        return p.u.has_value() != points[0].u.has_value() ||
               p.board != points[0].board || !std::isfinite(p.temperature_c);
      });
  // What is no series is refused there, and where.
  if (sets.size.size() == points.size() || mixed) {
    return fit_curve(points, model, terms, instrument, coverage);
  }
  std::vector<DriftPoint> means = means_of(points, sets, 1.0);
  auto fit = fit_curve(means, model, terms, instrument, coverage);
  if (!fit) return fit;
  std::vector<double> off = off_means(points, means, sets, *fit);
  const double ratio = own_ratio(points, sets, off, *fit);
  if (ratio > 1.0) {
    means = means_of(points, sets, ratio);
    fit = fit_curve(means, model, terms, instrument, coverage);
    if (!fit) return fit;
  }
  fill_reading(points, sets, off, ratio, *fit);
  if (ratio > 1.0) {
    fit->birge_ratio = ratio * std::max(1.0, fit->birge_ratio.value_or(1.0));
    // Student's t, and the largest residual, as where the curve shows it.
    if (fit->dof >= 1) fit->scatter = Scatter::kTooLarge;
  }
  spread(points, sets, means, off, *fit);
  return fit;
}

}  // namespace clockassay
