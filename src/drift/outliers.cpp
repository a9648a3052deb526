// SPDX-License-Identifier: GPL-3.0-or-later
#include "clockassay/drift/outliers.h"

#include <algorithm>
#include <cmath>
#include <limits>
#include <optional>
#include <utility>

#include "base/median.h"
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

struct Farthest {
  std::size_t at = 0;
  double probability = 1.0;
};

Farthest farthest_point(const CurveFit& fit) {
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
    const Farthest far = farthest_point(*now);
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
