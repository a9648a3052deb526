// SPDX-License-Identifier: GPL-3.0-or-later
#include "estimate/place_score.h"

#include <doctest/doctest.h>

#include <cmath>
#include <numbers>

using namespace clockassay;

namespace {

double score(const EdgeScore& s) {
  return static_cast<double>(s.score) / kScoreUnits;
}
double information(const EdgeScore& s) {
  return static_cast<double>(s.information) / kScoreUnits;
}
double density(double z) {
  return std::exp(-0.5 * z * z) / std::sqrt(2.0 * std::numbers::pi);
}
double below(double z) {
  return 0.5 * std::erfc(-z / std::numbers::sqrt2);
}

/// Half a unit of rounding, and half a row of the table: the score's derivative
/// is at most 1 (the normal distribution's), the information's below 1.
constexpr double kRounding = 0.5 / kScoreUnits + 0.5 / 128.0;

}  // namespace

TEST_CASE("PlaceScore: an edge seen exactly scores its distance") {
  const PlaceScore s = PlaceScore::of_exact(2.0);
  CHECK(score(s(3.0)) == 1.5);
  CHECK(score(s(-5.0)) == -2.5);
  CHECK(information(s(3.0)) == 1.0);
  // Far beyond, no more than that: one wild edge is not all.
  CHECK(score(s(1e6)) == 8.0);
}

TEST_CASE("PlaceScore: an edge seen through a window scores by its ends") {
  // d/dx ln [Phi((y - x)/s) - Phi((y - w - x)/s)], times s.
  constexpr double kWindow = 3.0;
  for (const double sigma : {0.1, 0.9, 2.0}) {
    const PlaceScore s = PlaceScore::of_windows(kWindow, sigma);
    for (double offset = -1.5; offset < 4.5; offset += 0.07) {
      const double high = offset / sigma, low = (offset - kWindow) / sigma;
      const double p = below(high) - below(low);
      if (p < 1e-9) continue;
      CAPTURE(sigma);
      CAPTURE(offset);
      CHECK(std::abs(score(s(offset)) - (density(low) - density(high)) / p) <
            kRounding);
    }
  }
}

TEST_CASE("PlaceScore: the information is the variance of the score") {
  // Over all windows in which an edge may be seen, the line at one place.
  constexpr double kWindow = 1.0;
  for (const double sigma : {0.05, 0.3, 1.0}) {
    const PlaceScore s = PlaceScore::of_windows(kWindow, sigma);
    for (double phase = 0.02; phase < 1.0; phase += 0.09) {
      double mean = 0.0, square = 0.0;
      for (int i = -40; i <= 40; ++i) {
        const double upper = phase + i * kWindow;
        const double p =
            below(upper / sigma) - below((upper - kWindow) / sigma);
        mean += p * score(s(upper));
        square += p * std::pow(score(s(upper)), 2);
      }
      CAPTURE(sigma);
      CAPTURE(phase);
      // Rounding of a score counts twice, and scores are 1.5 rms at most.
      CHECK(std::abs(mean) < kRounding);
      CHECK(std::abs(square - information(s(phase))) < 4.0 * kRounding);
    }
  }
}
