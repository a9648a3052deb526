// SPDX-License-Identifier: GPL-3.0-or-later
#include "estimate/window_likelihood.h"

#include <doctest/doctest.h>

#include <cmath>
#include <random>

#include "support/approx.h"

using namespace clockassay;

namespace {

/// Edges of a line with jitter seen in windows of length 1, k from -1 to 1.
std::vector<LikelihoodCell> seen(double rise, double fall, double slope,
                                 double sigma, int count,
                                 std::mt19937_64& random) {
  std::normal_distribution<double> normal;
  // The windows' places beat against the line by this much an edge.
  constexpr double kBeat = 0.381966011250105;
  std::vector<LikelihoodCell> cells;
  for (int i = 0; i < 2 * count; ++i) {
    const bool is_fall = i % 2 == 1;
    const double k = 2.0 * i / (2.0 * count - 1.0) - 1.0;
    const double grid = kBeat * i;
    const double x =
        (is_fall ? fall : rise) + slope * k + sigma * normal(random);
    cells.push_back({k, std::ceil(x + grid) - grid, 1.0, is_fall});
  }
  return cells;
}

/// The sum of logarithms, term by term with the C library's erfc.
double plain_log(const std::vector<LikelihoodCell>& cells,
                 const JitterLine& line) {
  double sum = 0.0;
  for (const LikelihoodCell& c : cells) {
    const double x = (c.fall ? line.fall : line.rise) + line.slope * c.k;
    const double high = (c.y - x) / line.sigma;
    const double low = (c.y - 1.0 - x) / line.sigma;
    sum += c.weight * std::log(0.5 * (std::erfc(low / std::sqrt(2.0)) -
                                      std::erfc(high / std::sqrt(2.0))));
  }
  return sum;
}

}  // namespace

TEST_CASE("WindowLikelihood: no line near the peak is more likely") {
  constexpr std::uint64_t kSeed = 31;
  INFO("seed ", kSeed);
  std::mt19937_64 random(kSeed);
  for (const double sigma : {0.05, 0.2, 0.5}) {
    CAPTURE(sigma);
    const auto cells = seen(0.3, -0.2, 0.1, sigma, 400, random);
    const WindowLikelihood likelihood(cells, 1e-4);
    const LikelihoodPeak peak = likelihood.peak({0.0, 0.0, 0.0, 0.3});
    REQUIRE(peak.converged);
    CHECK(peak.log == testing::approx(plain_log(cells, peak.line)));
    const JitterLine& p = peak.line;
    const double d = 0.02 * sigma;
    for (const JitterLine& other :
         {JitterLine{p.rise + d, p.fall, p.slope, p.sigma},
          JitterLine{p.rise - d, p.fall, p.slope, p.sigma},
          JitterLine{p.rise, p.fall + d, p.slope, p.sigma},
          JitterLine{p.rise, p.fall - d, p.slope, p.sigma},
          JitterLine{p.rise, p.fall, p.slope + d, p.sigma},
          JitterLine{p.rise, p.fall, p.slope - d, p.sigma},
          JitterLine{p.rise, p.fall, p.slope, 1.1 * p.sigma},
          JitterLine{p.rise, p.fall, p.slope, 0.9 * p.sigma}}) {
      // The climb ends a hundredth below the peak at most.
      CHECK(plain_log(cells, other) < peak.log + 0.01);
    }
    // Where the truth is: its likelihood is below the peak's, twice the
    // difference being chi squared of four degrees: 23.5 once in 1e4.
    const double truth = plain_log(cells, {0.3, -0.2, 0.1, sigma});
    CHECK(2.0 * (peak.log - truth) < 23.5);
  }
}

TEST_CASE("WindowLikelihood: the slope's variance is the curvature's") {
  // Of the profile: half the fall at a distance d is d²/2/variance.
  std::mt19937_64 random(32);
  const auto cells = seen(0.3, -0.2, 0.1, 0.2, 2000, random);
  const WindowLikelihood likelihood(cells, 1e-4);
  const LikelihoodPeak peak = likelihood.peak({0.0, 0.0, 0.0, 0.3});
  const auto variance = likelihood.slope_variance(peak.line);
  REQUIRE(variance);
  for (const double sd : {-3.0, 3.0}) {
    JitterLine at = peak.line;
    at.slope += sd * std::sqrt(*variance);
    const double fall = 2.0 * (peak.log - likelihood.peak_at_slope(at).log);
    // 9, but for the climbs' hundredths and the third order, of 1/sqrt(n).
    CHECK(fall == testing::approx(9.0).epsilon(0.05));
  }
}

TEST_CASE("WindowLikelihood: edges far wider than windows are exact edges") {
  std::mt19937_64 random(33);
  const auto cells = seen(0.0, 0.0, 0.0, 4.0, 500, random);
  const WindowLikelihood likelihood(cells, 1e-4);
  // Information of place through windows of 1: 1/(sigma² + 1/12) to second
  // order, so 1000 / (1 + 1/192).
  CHECK(likelihood.exact_edges({0, 0, 0, 4.0}) ==
        testing::approx(1000.0 / (1.0 + 1.0 / 192.0)).epsilon(1e-4));
}

TEST_CASE("WindowLikelihood: with even phases information is 1.8064/sigma") {
  // The integral of phi²/(Phi (1 - Phi)) over all places is 1.8064 (by
  // quadrature); a window has two ends, but each edge passes one of them.
  std::mt19937_64 random(34);
  const double sigma = 0.02;
  const auto cells = seen(0.0, 0.0, 0.0, sigma, 20000, random);
  const WindowLikelihood likelihood(cells, 1e-4);
  CHECK(likelihood.exact_edges({0, 0, 0, sigma}) ==
        testing::approx(40000.0 * 1.8064 * sigma).epsilon(0.02));
}

TEST_CASE("WindowLikelihood: like edges may be taken as one") {
  const std::vector<LikelihoodCell> apart = {
      {-1.0, 0.1, 1.0, false}, {-1.0, 0.1, 1.0, false}, {0.0, 0.4, 1.0, false},
      {0.5, 0.9, 1.0, false},  {0.5, 0.9, 1.0, false},  {1.0, -0.2, 1.0, false},
  };
  const std::vector<LikelihoodCell> together = {{-1.0, 0.1, 2.0, false},
                                                {0.0, 0.4, 1.0, false},
                                                {0.5, 0.9, 2.0, false},
                                                {1.0, -0.2, 1.0, false}};
  const LikelihoodPeak a =
      WindowLikelihood(apart, 1e-4).peak({0.0, 0.0, 0.0, 0.3});
  const LikelihoodPeak b =
      WindowLikelihood(together, 1e-4).peak({0.0, 0.0, 0.0, 0.3});
  CHECK(a.log == testing::approx(b.log));
  CHECK(a.line.slope == testing::approx(b.line.slope));
}

TEST_CASE("WindowLikelihood: edges of another's do not narrow the slope") {
  // A clock that never leaves its window says nothing of its slope within it,
  // and an edge off by a window that may be another's does not either: a line
  // that is to pass it has to leave half of the others' windows.
  std::vector<LikelihoodCell> cells;
  for (int i = 0; i <= 400; ++i) {
    cells.push_back({i / 200.0 - 1.0, 0.5, 1.0, false});
  }
  cells[100].y += 1.0;
  cells[290].y -= 1.0;
  cells[320].y += 1.0;
  const WindowLikelihood likelihood(cells, 1e-4, 0.01);
  const LikelihoodPeak peak = likelihood.peak({0.0, 0.0, 0.0, 0.2});
  REQUIRE(peak.converged);
  // 398 surely within their windows, 3 another's. Climbs end a hundredth below.
  CHECK(std::abs(peak.log - 3.0 * std::log(0.01 / 1.01)) < 0.02);
  for (const double slope : {-0.4, 0.0, 0.4}) {
    CAPTURE(slope);
    JitterLine at = peak.line;
    at.slope = slope;
    CHECK(likelihood.peak_at_slope(at).log > peak.log - 0.03);
  }
}

TEST_CASE("WindowLikelihood: a climb ends where sigma is the least") {
  // Windows that end where the line runs: only place and slope in sigma show,
  // here slope/sigma = 1, so that a slope of 1e-6 asks for a sigma of 1e-6.
  constexpr std::uint64_t kSeed = 35;
  INFO("seed ", kSeed);
  std::mt19937_64 random(kSeed);
  std::normal_distribution<double> normal;
  std::vector<LikelihoodCell> cells;
  for (int i = 0; i <= 400; ++i) {
    const double k = i / 200.0 - 1.0;
    cells.push_back({k, std::ceil(0.1 * k + 0.1 * normal(random)), 1.0, false});
  }
  const double least = 1e-4;
  const LikelihoodPeak peak =
      WindowLikelihood(cells, least).peak_at_slope({0.0, 0.0, 1e-6, 0.1});
  CHECK(peak.converged);
  CHECK(peak.line.sigma == testing::approx(least));
}
