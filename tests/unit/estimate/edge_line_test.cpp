// SPDX-License-Identifier: GPL-3.0-or-later
#include "clockassay/estimate/edge_line.h"

#include <doctest/doctest.h>

#include <cmath>
#include <random>

#include "support/approx.h"

using namespace clockassay;

namespace {

// NIST Statistical Reference Datasets, linear regression, "Norris" (36
// observations), each value times ten so that it is a whole number. Data and
// certified values: https://www.itl.nist.gov/div898/strd/lls/data/Norris.shtml
struct Point {
  std::int64_t x10, y10;
};
constexpr Point kNorris[] = {
    {2, 1},       {3374, 3388}, {1182, 1181}, {8846, 8880}, {101, 92},
    {2265, 2281}, {6663, 6685}, {9963, 9985}, {4486, 4491}, {7770, 7789},
    {5582, 5592}, {4, 3},       {6, 1},       {7755, 7781}, {6669, 6688},
    {3380, 3393}, {4475, 4489}, {116, 108},   {5560, 5577}, {2281, 2283},
    {9958, 9980}, {8876, 8888}, {1202, 1196}, {3, 3},       {3, 6},
    {5568, 5576}, {3391, 3393}, {8872, 8880}, {9990, 9985}, {7790, 7789},
    {111, 102},   {1183, 1176}, {2292, 2289}, {6691, 6684}, {4489, 4492},
    {5, 2}};

LineSums sums_of(std::span<const double> y) {
  LineSums s;
  for (std::size_t i = 0; i < y.size(); ++i) {
    s.add(static_cast<std::int64_t>(i), std::llround(y[i]));
  }
  return s;
}

}  // namespace

TEST_CASE("fit_line: NIST StRD Norris to fourteen digits") {
  LineSums s;
  for (const Point& p : kNorris) s.add(p.x10, p.y10);
  REQUIRE(s.n == 36);
  const auto fit = fit_line(s, LineSums{});
  REQUIRE(fit);
  // Certified: B1 1.00211681802045, B0 -0.262323073774029, residual standard
  // deviation 0.884796396144373, standard deviation of B1
  // 0.429796848199937E-03. Scaling both axes by ten leaves the slope.
  // The certified values have fifteen digits: half a unit of the last.
  CHECK(std::abs(fit->slope - 1.00211681802045) <= 0.5e-14 + 1e-16);
  CHECK(std::abs(fit->rise_intercept / 10.0 + 0.262323073774029) <= 0.5e-15);
  const double sd =
      std::sqrt(fit->residual_squares / static_cast<double>(fit->dof));
  CHECK(std::abs(sd / 10.0 - 0.884796396144373) <= 0.5e-15 + 2e-16);
  CHECK(std::abs(sd * std::sqrt(fit->slope_variance) - 0.429796848199937e-3) <=
        0.5e-18 + 1e-18);
}

TEST_CASE("fit_line: two polarities share a slope, each has its intercept") {
  // y = 3 + k/2 at k = 0 2 4; y = 10 + k/2 at k = 0 2 6: exact.
  LineSums rise, fall;
  for (std::int64_t k : {0, 2, 4}) rise.add(k, 3 + k / 2);
  for (std::int64_t k : {0, 2, 6}) fall.add(k, 10 + k / 2);
  const auto fit = fit_line(rise, fall);
  REQUIRE(fit);
  CHECK(fit->slope == 0.5);
  CHECK(fit->rise_intercept == 3.0);
  CHECK(fit->fall_intercept.value() == 10.0);
  CHECK(fit->residual_squares == 0.0);
  CHECK(fit->rise_residual_squares == 0.0);
  CHECK(fit->dof == 3);
}

TEST_CASE("fit_line: residual squares stay exact where doubles lose them") {
  // y = 0, 0, ... with a slope of 2^33 added: residuals of (0, 1, 0) about
  // their line are -1/3 2/3 -1/3, squares 2/3, whatever the slope.
  LineSums s;
  constexpr std::int64_t kSlope = std::int64_t{1} << 33;
  for (std::int64_t k : {0, 1, 2}) s.add(k, kSlope * k + (k == 1 ? 1 : 0));
  const auto fit = fit_line(s, LineSums{});
  REQUIRE(fit);
  CHECK(fit->residual_squares == testing::approx(2.0 / 3.0).epsilon(1e-15));
}

TEST_CASE("fit_line: fewer than two different cycles are refused") {
  LineSums one;
  one.add(3, 5);
  const auto fit = fit_line(one, LineSums{});
  REQUIRE_FALSE(fit);
  CHECK(fit.error().code == ErrorCode::kTooFewEdges);
  CHECK(fit.error().message ==
        "a line needs edges of at least two different cycles");
}

TEST_CASE("fit_line: variance of Pi and Omega estimates of a period") {
  // White timing noise s on N equally spaced stamps. Pi (first and last stamp):
  // 2 s^2/(N-1)^2, E. Rubiola, Rev. Sci. Instrum. 76, 054703 (2005). Omega
  // (least squares): 12 s^2/(N (N^2-1)), Rubiola, Lenczner, Bourgeois,
  // Vernotte, IEEE Trans. UFFC 63(7), 961 (2016).
  // The variance of T trials has relative standard deviation sqrt(2/T); five
  // of them. Rounding to whole ticks adds 1/12 tick^2 to 1e8 tick^2: nothing.
  constexpr int kTrials = 4000;
  constexpr double kNoise = 1e4;
  constexpr unsigned kSeed = 20161;
  INFO("seed ", kSeed);
  const double band = 5.0 * std::sqrt(2.0 / kTrials);
  for (std::size_t count : {4u, 10u, 100u}) {
    CAPTURE(count);
    std::mt19937_64 random(kSeed);
    std::normal_distribution<double> normal(0.0, kNoise);
    const auto n = static_cast<double>(count);
    double pi = 0.0, omega = 0.0, variance = 0.0;
    std::vector<double> y(count);
    for (int t = 0; t < kTrials; ++t) {
      for (double& v : y) v = normal(random);
      const auto fit = fit_line(sums_of(y), LineSums{});
      REQUIRE(fit);
      omega += fit->slope * fit->slope / kTrials;
      variance = fit->slope_variance;
      const double ends = (y.back() - y.front()) / (n - 1.0);
      pi += ends * ends / kTrials;
    }
    const double s2 = kNoise * kNoise;
    const double pi_theory = 2.0 * s2 / ((n - 1.0) * (n - 1.0));
    const double omega_theory = 12.0 * s2 / (n * (n * n - 1.0));
    CHECK(std::abs(pi / pi_theory - 1.0) < band);
    CHECK(std::abs(omega / omega_theory - 1.0) < band);
    CHECK(std::abs(variance * s2 / omega_theory - 1.0) < 1e-12);
  }
}

TEST_CASE("fit_line: exact with sums as large as they can be") {
  // Squares of 2^122. The one point off the line by 1 is in the middle, where
  // it does not turn it: residuals -1/3, 2/3, -1/3, their squares' sum 2/3.
  constexpr std::int64_t kFar = std::int64_t{1} << 61;
  LineSums s;
  s.add(-kFar, -kFar / 4 * 3);
  s.add(0, 1);
  s.add(kFar, kFar / 4 * 3);
  const auto fit = fit_line(s, LineSums{});
  REQUIRE(fit);
  CHECK(fit->slope == 0.75);
  CHECK(fit->rise_intercept == 1.0 / 3.0);
  CHECK(fit->residual_squares == 2.0 / 3.0);
  CHECK(fit->rise_residual_squares == 2.0 / 3.0);
  CHECK(fit->slope_variance == std::ldexp(1.0, -123));
  // Both polarities alike, and twice as much.
  const auto both = fit_line(s, s);
  REQUIRE(both);
  CHECK(both->slope == 0.75);
  CHECK(both->fall_intercept == 1.0 / 3.0);
  CHECK(both->residual_squares == 4.0 / 3.0);
  CHECK(both->rise_residual_squares == 2.0 / 3.0);
}
