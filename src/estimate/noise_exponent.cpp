// SPDX-License-Identifier: GPL-3.0-or-later
#include "estimate/noise_exponent.h"

#include <Eigen/Dense>
#include <algorithm>
#include <cmath>
#include <cstddef>
#include <vector>

namespace clockassay {
namespace {

constexpr int kMostOrder = 2;
using Powers = Eigen::Matrix<double, Eigen::Dynamic, 1, 0, kMostOrder + 1, 1>;
using Products = Eigen::Matrix<double, Eigen::Dynamic, Eigen::Dynamic, 0,
                               kMostOrder + 1, kMostOrder + 1>;

/// 1, t, t^2, ... of a place from -1 to 1.
Powers powers(std::size_t i, std::size_t n, int order) {
  const double t = 2.0 * static_cast<double>(i) / static_cast<double>(n) - 1.0;
  Powers p(order + 1);
  p[0] = 1.0;
  for (int k = 1; k <= order; ++k) p[k] = p[k - 1] * t;
  return p;
}

std::vector<double> without_trend(std::span<const double> values, int order) {
  Products squares = Products::Zero(order + 1, order + 1);
  Powers products = Powers::Zero(order + 1);
  const std::size_t n = values.size();
  for (std::size_t i = 0; i < n; ++i) {
    if (std::isnan(values[i])) continue;
    const Powers p = powers(i, n, order);
    squares += p * p.transpose();
    products += p * values[i];
  }
  const Powers trend = squares.ldlt().solve(products);
  std::vector<double> rest(values.begin(), values.end());
  for (std::size_t i = 0; i < n; ++i) rest[i] -= powers(i, n, order).dot(trend);
  return rest;
}

void take_differences(std::vector<double>& z) {
  for (std::size_t i = 0; i + 1 < z.size(); ++i) z[i] = z[i + 1] - z[i];
  z.pop_back();
}

/// Absent when too few have a neighbour, or all are the same.
std::optional<double> lag1_autocorrelation(std::span<const double> z) {
  double sum = 0.0;
  std::int64_t n = 0, pairs = 0;
  for (const double v : z) {
    if (std::isnan(v)) continue;
    sum += v;
    ++n;
  }
  const double mean = sum / static_cast<double>(n);
  double squares = 0.0, products = 0.0;
  for (std::size_t i = 0; i < z.size(); ++i) {
    if (std::isnan(z[i])) continue;
    squares += (z[i] - mean) * (z[i] - mean);
    if (i + 1 == z.size() || std::isnan(z[i + 1])) continue;
    products += (z[i] - mean) * (z[i + 1] - mean);
    ++pairs;
  }
  // Each difference taken has cost a value.
  if (pairs + 3 < kFewestForNoise || !(squares > 0.0)) return std::nullopt;
  return products / squares * static_cast<double>(n - 1) /
         static_cast<double>(pairs);
}

}  // namespace

std::optional<NoiseExponent> lag1_exponent(std::span<const double> values,
                                           int trend_order) {
  constexpr int kMostDifferences = 2;
  constexpr double kStationaryBelow = 0.25;
  const auto known = std::count_if(values.begin(), values.end(),
                                   [](double v) { return !std::isnan(v); });
  if (known < kFewestForNoise) return std::nullopt;
  std::vector<double> z = without_trend(values, trend_order);
  for (int d = 0;; ++d) {
    const auto r1 = lag1_autocorrelation(z);
    if (!r1) return std::nullopt;
    const double delta = *r1 / (1.0 + *r1);
    if (delta < kStationaryBelow || d == kMostDifferences) {
      const double spread = 2.0 / (std::sqrt(static_cast<double>(known - d)) *
                                   (1.0 + *r1) * (1.0 + *r1));
      return NoiseExponent{-2.0 * (delta + d), spread, *r1, d};
    }
    take_differences(z);
  }
}

std::optional<NoiseKind> noise_of_phases(std::span<const double> phases) {
  const auto found = lag1_exponent(phases, 2);
  if (!found) return std::nullopt;
  const double least = found->exponent - found->spread;
  const double alpha = std::clamp(least + 2.0, -2.0, 2.0);
  return static_cast<NoiseKind>(2 - std::lround(alpha));
}

int alpha_of(NoiseKind kind) {
  return 2 - static_cast<int>(kind);
}

}  // namespace clockassay
