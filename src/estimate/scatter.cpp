// SPDX-License-Identifier: GPL-3.0-or-later
#include "estimate/scatter.h"

#include <algorithm>
#include <boost/math/distributions/chi_squared.hpp>
#include <cassert>
#include <cmath>

#include "clockassay/estimate/frequency_estimate.h"
#include "clockassay/estimate/student_t.h"

namespace clockassay {
namespace {

/// Octaves by which the slopes' variance grows when parts are halved: 2 for
/// flicker of the phase, 1 for a phase that walks, 0 and -1 for flicker and a
/// walk of the frequency. Chosen: nearer the more careful one.
constexpr double kPhaseGrowth = 1.6;
constexpr double kWalkGrowth = 0.8;

/// Whether the sum of places runs away further than white jitter takes it once
/// in a hundred: few parts that all lie to one side, as after a step of the
/// phase or the frequency. 0.944 is the quantile for 32 parts of which the line
/// was taken off, in root of the sum of variances, by simulation of 60 000.
bool runs_away(std::span<const PartScore> parts) {
  constexpr double kOnceInHundred = 0.944;
  double at = 0.0, furthest = 0.0, information = 0.0;
  for (const PartScore& p : parts) {
    at += p.score;
    furthest = std::max(furthest, std::abs(at));
    information += p.information;
  }
  return furthest > kOnceInHundred * std::sqrt(information);
}

/// Whether the parts scatter more than white jitter does once in a hundred.
bool is_scattered(std::span<const PartScore> parts) {
  constexpr double kOnceIn = 0.01;     // chosen
  constexpr double kParameters = 2.0;  // of the line, fitted to them
  double squares = 0.0, sum = 0.0, sum_squares = 0.0;
  for (const PartScore& p : parts) {
    squares += p.score * p.score;
    sum += p.information;
    sum_squares += p.information * p.information;
  }
  if (sum <= 0.0) return false;
  // Weighted squares: as many degrees of freedom as have that variance.
  const double freedom = sum * sum / sum_squares - kParameters;
  if (freedom < 2.0) return false;
  const boost::math::chi_squared chi(freedom);
  return squares / sum * (freedom + kParameters) >
         quantile(complement(chi, kOnceIn));
}

/// Slope of the places within some neighbouring parts, per whole view; absent
/// when they do not show one.
std::optional<double> slope_of(std::span<const PartScore> parts) {
  double w = 0.0, wk = 0.0, wkk = 0.0, wy = 0.0, wky = 0.0;
  for (std::size_t i = 0; i < parts.size(); ++i) {
    const auto k = static_cast<double>(i);
    w += parts[i].information;
    wk += parts[i].information * k;
    wkk += parts[i].information * k * k;
    wy += parts[i].score;
    wky += parts[i].score * k;
  }
  if (w <= 0.0) return std::nullopt;
  const double spread = wkk - wk * wk / w;
  if (spread < 1e-3 * w) return std::nullopt;  // all in one part
  return (wky - wk * wy / w) / spread * static_cast<double>(kScatterParts);
}

/// Mean square slope of `count` equal parts of the view, about the whole's.
std::optional<double> slope_variance(std::span<const PartScore> parts,
                                     std::size_t count) {
  const std::size_t length = parts.size() / count;
  double squares = 0.0;
  int n = 0;
  for (std::size_t i = 0; i < count; ++i) {
    if (const auto s = slope_of(parts.subspan(i * length, length))) {
      squares += *s * *s;
      ++n;
    }
  }
  if (n < 3) return std::nullopt;
  return squares / (n - 1);
}

}  // namespace

std::optional<double> scatter_half_width(std::span<const PartScore> parts) {
  assert(parts.size() == kScatterParts);
  if (!is_scattered(parts) && !runs_away(parts)) return std::nullopt;
  const auto quarters = slope_variance(parts, 4);
  const auto eighths = slope_variance(parts, 8);
  const auto sixteenths = slope_variance(parts, 16);
  if (!quarters || !eighths || !sixteenths) return std::nullopt;
  const double growth = std::min(std::log2(*eighths / *quarters),
                                 0.5 * std::log2(*sixteenths / *quarters));
  double variance = *quarters;
  if (growth > kPhaseGrowth) {
    variance /= 16.0;
  } else if (growth > kWalkGrowth) {
    variance /= 4.0;
  }
  // 1.1: see the docs page, the quarters' slopes are not independent.
  return student_t_two_sided(kHalfWidthCoverage, 3.0) * 1.1 *
         std::sqrt(variance);
}

}  // namespace clockassay
