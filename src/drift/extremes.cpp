// SPDX-License-Identifier: GPL-3.0-or-later
#include "clockassay/drift/extremes.h"

#include <algorithm>
#include <cassert>
#include <cmath>
#include <cstddef>

#include "drift/curve_bands.h"

namespace clockassay {
namespace {

// Between neighbours of so many a parabola of a tuning fork bends by less than
// 0.04 ppm/K^2 (span/256)^2/8: a thousandth of a ppm over 125 K.
constexpr int kSteps = 256;
constexpr int kHalvings = 60;

CurvePlace slope_place(double temperature_c) {
  CurvePlace place;
  place.temperature_c = temperature_c;
  place.derivative = 1;
  return place;
}

// Real zeros of c1 + 2 c2 x + 3 c3 x^2, x from the centre of the fit.
std::vector<double> level_places(const CurveFit& fit) {
  const auto c = curve_coefficients(fit, fit.centre_c);
  std::vector<double> places;
  if (c.size() == 3 && c[2].value != 0.0) {
    places.push_back(-c[1].value / (2.0 * c[2].value));
  }
  if (c.size() == 4 && c[3].value != 0.0) {
    const double root = c[2].value * c[2].value - 3.0 * c[3].value * c[1].value;
    if (!(root > 0.0)) return places;  // level nowhere, or without turning
    // The sum that does not cancel, and the other by the product of both.
    const double sum =
        -(c[2].value + std::copysign(std::sqrt(root), c[2].value));
    places.push_back(sum / (3.0 * c[3].value));
    if (sum != 0.0) places.push_back(c[1].value / sum);
  }
  for (double& place : places) place += fit.centre_c;
  std::sort(places.begin(), places.end());
  return places;
}

bool may_be_level(const CurveChoice& choice, double temperature_c) {
  const Stated slope = curve_at(choice, slope_place(temperature_c));
  return std::abs(slope.value) <= slope.expanded;
}

// The end of where the slope may be zero, from a place where it is to a limit.
std::optional<double> level_end(const CurveChoice& choice, double from,
                                double limit) {
  double inside = from;
  for (int i = 1; i <= kSteps; ++i) {
    const double next = from + (limit - from) * i / kSteps;
    if (may_be_level(choice, next)) {
      inside = next;
      continue;
    }
    double outside = next;
    for (int k = 0; k < kHalvings; ++k) {
      const double middle = 0.5 * (inside + outside);
      (may_be_level(choice, middle) ? inside : outside) = middle;
    }
    return inside;
  }
  return std::nullopt;
}

}  // namespace

std::vector<Turnover> curve_turnovers(const CurveChoice& choice,
                                      Span measured) {
  const CurveFit& fit = choice.fits[choice.chosen];
  const double width = measured.high_c - measured.low_c;
  std::vector<Turnover> turnovers;
  for (const double place : level_places(fit)) {
    const double low = measured.low_c - width;
    const double high = measured.high_c + width;
    if (!(place > low && place < high)) continue;
    Turnover turnover;
    turnover.temperature_c = place;
    turnover.low_c = level_end(choice, place, low);
    turnover.high_c = level_end(choice, place, high);
    CurvePlace at;
    at.temperature_c = place;
    turnover.error = curve_at(choice, at);
    at.derivative = 2;
    turnover.maximum = curve_at(fit, at).value < 0.0;
    turnover.measured = place >= measured.low_c && place <= measured.high_c;
    turnovers.push_back(turnover);
  }
  return turnovers;
}

std::vector<BandPlace> band_over(const CurveChoice& choice, Span range,
                                 std::optional<double> relative_to_c,
                                 bool with_reading) {
  assert(range.low_c <= range.high_c);
  const CurveFit& fit = choice.fits[choice.chosen];
  std::vector<double> temperatures;
  for (int i = 0; i <= kSteps; ++i) {
    temperatures.push_back(range.low_c +
                           (range.high_c - range.low_c) * i / kSteps);
  }
  for (const double place : level_places(fit)) {
    if (place > range.low_c && place < range.high_c) {
      temperatures.push_back(place);
    }
  }
  std::sort(temperatures.begin(), temperatures.end());
  std::vector<BandPlace> band;
  for (const double t : temperatures) {
    const auto there = band_at(choice, t, relative_to_c, with_reading);
    band.insert(band.end(), there.begin(), there.end());
  }
  return band;
}

std::vector<BandPlace> band_at(const CurveChoice& choice, double temperature_c,
                               std::optional<double> relative_to_c,
                               bool with_reading) {
  std::vector<Sweep> branches = {Sweep::kNotStated};
  if (choice.fits[choice.chosen].terms.sweeps) {
    branches = {Sweep::kUp, Sweep::kDown};
  }
  std::vector<BandPlace> band;
  for (const Sweep branch : branches) {
    const CurvePlace place{temperature_c, 0, branch, relative_to_c};
    if (!with_reading) {
      band.push_back({temperature_c, branch, curve_at(choice, place), 0.0});
      continue;
    }
    const CurveBands bands = curve_bands(choice, place);
    band.push_back(
        {temperature_c, branch, bands.curve, bands.reading.expanded});
  }
  return band;
}

BandPlace worst_of(const std::vector<BandPlace>& band) {
  assert(!band.empty());
  BandPlace worst = *std::max_element(
      band.begin(), band.end(), [](const BandPlace& a, const BandPlace& b) {
        return std::abs(a.error.value) < std::abs(b.error.value);
      });
  // The clock's worst may be elsewhere, where the band is wider.
  double expanded = worst.error.expanded;
  for (const BandPlace& place : band) {
    const double less =
        std::abs(place.error.value) - std::abs(worst.error.value);
    expanded = std::max(expanded, less + place.error.expanded);
  }
  worst.error.expanded = expanded;
  return worst;
}

}  // namespace clockassay
