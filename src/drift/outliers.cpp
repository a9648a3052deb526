// SPDX-License-Identifier: GPL-3.0-or-later
#include "clockassay/drift/outliers.h"

#include <algorithm>
#include <cmath>
#include <limits>
#include <optional>
#include <utility>

#include "base/median.h"
#include "drift/curve_row.h"
#include "drift/significance.h"

namespace clockassay {
namespace {

constexpr double kEvident = 0.01;   // chosen: one false mark in 100 series
constexpr double kSurprise = 0.05;  // as where a curve's scatter is judged
constexpr std::size_t kShare = 4;   // at most one point of so many
constexpr int kLeastLeft = 3;       // degrees of freedom that must remain

double studentised(const CurveFit& fit, std::size_t i) {
  const double left = std::max(1e-9, 1.0 - fit.leverage[i]);
  return std::abs(fit.residual[i]) / fit.expected[i] / std::sqrt(left);
}

// Half of normal deviates are beyond 0.67. Where half of the points are beyond
// one, it is not a few of them that are off but what is stated that is too
// small; what is left after the farthest are gone would not show that.
constexpr double kMedianDeviate = 1.0;

bool most_are_near(const CurveFit& fit) {
  std::vector<double> off;
  for (std::size_t i = 0; i < fit.residual.size(); ++i) {
    off.push_back(studentised(fit, i));
  }
  return median(std::move(off)) <= kMedianDeviate;
}

// Two-sided probability of a point's residual against the curve of the others.
double deleted_probability(const CurveFit& fit, std::size_t i) {
  const double left = 1.0 - fit.leverage[i];
  if (!(left > 1e-9) || fit.dof < 2) return 1.0;  // the curve goes through it
  const double square = std::pow(fit.residual[i] / fit.expected[i], 2) / left;
  const double others = std::max(0.0, fit.chi_squared - square);
  const int dof = fit.dof - 1;
  const bool stated = fit.scatter != Scatter::kEstimated &&
                      most_are_near(fit) &&
                      others <= chi_squared_limit(kSurprise, dof);
  // The squares of a normal deviate and of Student's t.
  return gain_by_chance(square, others, 1, dof, stated);
}

// A curve through a point that is far off is so steep that the errors of the
// temperatures seem to explain it, and everything else. Where temperatures have
// errors, each point is therefore held against a curve that was fitted without
// it. Chosen: up to so many points, for it takes as many fits.
constexpr std::size_t kMostRefits = 64;

std::optional<double> refitted_probability(std::span<const DriftPoint> points,
                                           const CurveFit& fit, std::size_t i) {
  std::vector<DriftPoint> others(points.begin(), points.end());
  others.erase(others.begin() + static_cast<std::ptrdiff_t>(i));
  const auto without =
      fit_curve(others, fit.model, fit.terms, fit.instrument, fit.coverage);
  if (!without || without->dof < 1 || !points[i].u) return std::nullopt;
  const CurvePlace place{points[i].temperature_c, 0, points[i].sweep, {}};
  const Stated there = bare_curve_at(*without, place);
  CurvePlace slope = place;
  slope.derivative = 1;
  const double s = fit.instrument.stability.value();
  const double birge = without->scatter == Scatter::kAsStated
                           ? 1.0
                           : without->birge_ratio.value_or(1.0);
  const double own =
      std::pow(points[i].u->value(), 2) + s * s / 3.0 +
      std::pow(bare_curve_at(*without, slope).value * points[i].u_temperature_c,
               2);
  const double normal = without->scatter == Scatter::kAsStated
                            ? there.error.normal_sigma
                            : there.error.normal_sigma /
                                  student_widening(fit.coverage, without->dof);
  const double variance = own * birge * birge + normal * normal;
  const double off = points[i].error.value() - there.value;
  return gain_by_chance(off * off / variance, without->dof, 1, without->dof,
                        without->scatter == Scatter::kAsStated);
}

struct Farthest {
  std::size_t at = 0;
  double probability = 1.0;
};

// Chosen: half of the points more than five times as uncertain by their
// temperatures as by themselves; forks and RC oscillators are by three.
bool is_steep(std::span<const DriftPoint> points, const CurveFit& fit) {
  constexpr double kTimes = 5.0;
  if (fit.scatter == Scatter::kEstimated || fit.terms.ageing ||
      points.size() > kMostRefits) {
    return false;
  }
  const double s = fit.instrument.stability.value();
  std::vector<double> ratio;
  for (std::size_t i = 0; i < points.size(); ++i) {
    const double own = std::hypot(points[i].u->value(), s / std::sqrt(3.0));
    ratio.push_back(fit.expected[i] / std::max(own, 1e-12));
  }
  return median(std::move(ratio)) > kTimes;
}

Farthest farthest_by_refits(std::span<const DriftPoint> points,
                            const CurveFit& fit) {
  Farthest found;
  found.probability = 2.0;
  for (std::size_t i = 0; i < points.size(); ++i) {
    const auto p = refitted_probability(points, fit, i);
    if (p && *p < found.probability) found = {i, *p};
  }
  found.probability =
      std::min(1.0, found.probability * static_cast<double>(points.size()));
  return found;
}

Farthest farthest_point(std::span<const DriftPoint> points,
                        const CurveFit& fit) {
  if (is_steep(points, fit)) return farthest_by_refits(points, fit);
  Farthest found;
  double largest = -1.0;
  for (std::size_t i = 0; i < fit.residual.size(); ++i) {
    const double left = 1.0 - fit.leverage[i];
    if (!(left > 1e-9)) continue;
    const double off = studentised(fit, i);
    if (off <= largest) continue;
    largest = off;
    found = {i, deleted_probability(fit, i)};
  }
  // Of the farthest of so many (Bonferroni).
  found.probability = std::min(
      1.0, found.probability * static_cast<double>(fit.residual.size()));
  return found;
}

double deleted_residual(const CurveFit& fit, std::size_t i) {
  return fit.residual[i] / (1.0 - fit.leverage[i]);
}

}  // namespace

std::vector<Outlier> find_outliers(std::span<const DriftPoint> points,
                                   const CurveFit& fit) {
  std::vector<DriftPoint> left(points.begin(), points.end());
  std::vector<std::size_t> number(points.size());
  for (std::size_t i = 0; i < number.size(); ++i) number[i] = i;
  std::vector<Outlier> candidates;
  std::size_t outliers = 0;
  std::optional<CurveFit> now = fit;
  while (now && candidates.size() < points.size() / kShare &&
         now->dof > kLeastLeft) {
    const Farthest far = farthest_point(left, *now);
    candidates.push_back(
        {number[far.at], deleted_residual(*now, far.at), far.probability});
    if (far.probability < kEvident) outliers = candidates.size();
    left.erase(left.begin() + static_cast<std::ptrdiff_t>(far.at));
    number.erase(number.begin() + static_cast<std::ptrdiff_t>(far.at));
    auto next =
        fit_curve(left, fit.model, fit.terms, fit.instrument, fit.coverage);
    now.reset();
    if (next) now = std::move(*next);
  }
  candidates.resize(outliers);
  std::sort(
      candidates.begin(), candidates.end(),
      [](const Outlier& a, const Outlier& b) { return a.point < b.point; });
  return candidates;
}

}  // namespace clockassay
