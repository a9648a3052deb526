// SPDX-License-Identifier: GPL-3.0-or-later
#include "estimate/spectral_floor.h"

#include <algorithm>
#include <boost/math/special_functions/gamma.hpp>
#include <cassert>
#include <cmath>
#include <numbers>

#include "base/median.h"

namespace clockassay {
namespace {

/// Bins of a band of the trend at least, and how much higher the next begins.
constexpr std::size_t kFewestInBand = 16;
constexpr double kBandRatio = 1.5;
/// Bins to either side of a median: one of so many, within these. Chosen.
constexpr std::size_t kSideOf = 16;
constexpr std::size_t kFewestBeside = 16;
constexpr std::size_t kMostBeside = 256;

struct Knot {
  double x;  ///< logarithm of the bin
  double y;  ///< logarithm of the median
};

std::vector<Knot> band_medians(std::span<const double> density,
                               std::size_t first) {
  std::vector<Knot> knots;
  for (std::size_t begin = first; begin < density.size();) {
    std::size_t end = std::max(
        begin + kFewestInBand,
        static_cast<std::size_t>(kBandRatio * static_cast<double>(begin)));
    if (end + kFewestInBand > density.size()) end = density.size();
    const double middle = median(std::vector<double>(
        density.begin() + static_cast<std::ptrdiff_t>(begin),
        density.begin() + static_cast<std::ptrdiff_t>(end)));
    const double centre = 0.5 * static_cast<double>(begin + end - 1);
    knots.push_back({std::log(centre), std::log(middle)});
    begin = end;
  }
  return knots;
}

/// The line through the two knots about x, or the nearest two.
double trend_at(const std::vector<Knot>& knots, double x) {
  if (knots.size() == 1) return knots[0].y;
  std::size_t i = 1;
  while (i + 1 < knots.size() && knots[i].x < x) ++i;
  const Knot& a = knots[i - 1];
  const Knot& b = knots[i];
  return a.y + (x - a.x) / (b.x - a.x) * (b.y - a.y);
}

/// Medians of the `side` bins to either side; at the ends, of as many bins.
std::vector<double> running_median(const std::vector<double>& values,
                                   std::size_t side) {
  const std::size_t length = std::min(values.size(), 2 * side + 1);
  const std::size_t step = std::max<std::size_t>(1, side / 16);
  std::vector<double> medians(values.size());
  for (std::size_t i = 0; i < values.size(); i += step) {
    const std::size_t begin =
        std::min(i > side ? i - side : 0, values.size() - length);
    const double m = median(std::vector<double>(
        values.begin() + static_cast<std::ptrdiff_t>(begin),
        values.begin() + static_cast<std::ptrdiff_t>(begin + length)));
    for (std::size_t j = i; j < std::min(i + step, values.size()); ++j) {
      medians[j] = m;
    }
  }
  return medians;
}

/// Independent values that scatter as much as a bin's own and its neighbours'.
double independent_bins(double bins, const SpectralWindow& window) {
  double shared = 1.0;
  for (std::size_t i = 1; i <= 2 * kMainLobe; ++i) {
    shared += 2.0 * std::pow(window.bin_correlation(i), 2);
  }
  return bins / shared;
}

}  // namespace

SpectralFloor find_floor(std::span<const double> density, std::size_t first,
                         double averages, const SpectralWindow& window) {
  const std::size_t bins = density.size() - first;
  assert(density.size() >= first + 2 * kFewestInBand);
  const std::vector<Knot> knots = band_medians(density, first);
  std::vector<double> trend(bins), beside(bins);
  for (std::size_t i = 0; i < bins; ++i) {
    const double x = std::log(static_cast<double>(first + i));
    trend[i] = std::exp(trend_at(knots, x));
    beside[i] = density[first + i] / trend[i];
  }
  const std::size_t side =
      std::clamp(bins / kSideOf, kFewestBeside, kMostBeside);
  const std::vector<double> medians = running_median(beside, side);
  const double below_mean = boost::math::gamma_p_inv(averages, 0.5) / averages;
  SpectralFloor floor;
  floor.level.assign(density.size(), 0.0);
  for (std::size_t i = 0; i < bins; ++i) {
    floor.level[first + i] = trend[i] * medians[i] / below_mean;
  }
  // The median of many numbers has pi/2 times the variance of their mean.
  const double many = independent_bins(
      static_cast<double>(std::min(bins, 2 * side + 1)), window);
  floor.dof = 2.0 * averages * many / (0.5 * std::numbers::pi);
  return floor;
}

}  // namespace clockassay
