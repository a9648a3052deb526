// SPDX-License-Identifier: GPL-3.0-or-later
#include "clockassay/estimate/phase_deviation.h"

#include <doctest/doctest.h>

#include <cmath>
#include <cstdint>
#include <limits>
#include <random>
#include <vector>

#include "support/approx.h"

using namespace clockassay;

namespace {

constexpr double kMissing = std::numeric_limits<double>::quiet_NaN();

}  // namespace

TEST_CASE("phase deviations: the terms there are") {
  // N - 2m, N - 3m + 1 and N - 3m of N = 10 phases.
  const std::vector<double> x(10, 1.0);
  CHECK(allan_deviation(x, 2, 1.0)->n == 6);
  CHECK(modified_allan_deviation(x, 2, 1.0)->n == 5);
  CHECK(time_deviation(x, 2)->n == 5);
  CHECK(hadamard_deviation(x, 2, 1.0)->n == 4);
  CHECK(modified_allan_deviation(x, 3, 1.0)->n == 2);
  CHECK(hadamard_deviation(x, 3, 1.0)->n == 1);
  CHECK_FALSE(modified_allan_deviation(x, 4, 1.0));
  CHECK_FALSE(hadamard_deviation(x, 4, 1.0));
  CHECK(allan_deviation(x, 4, 1.0)->n == 2);
  CHECK_FALSE(allan_deviation(x, 5, 1.0));
  CHECK(max_time_interval_error(x, 9));
  CHECK_FALSE(max_time_interval_error(x, 10));
}

TEST_CASE("phase deviations: ten phases in exact fractions") {
  // By the sums of ITU-T G.810 (08/96), II.3 to II.5, in exact rationals; the
  // Allan variance by its definition.
  const std::vector<double> x = {0, 3, 1, 4, 4, 2, 7, 5, 9, 6};
  const double mtie[] = {5, 5, 7, 7, 7, 8, 8, 9, 9};
  for (std::size_t n = 1; n <= 9; ++n) {
    CAPTURE(n);
    CHECK(*max_time_interval_error(x, n) == mtie[n - 1]);
  }
  const double interval_squares[] = {
      80.0 / 9, 19.0 / 4, 78.0 / 7, 95.0 / 6, 13, 121.0 / 4, 86.0 / 3, 45, 36};
  for (std::size_t n = 1; n <= 9; ++n) {
    CAPTURE(n);
    const double e = interval_error(x, n)->value;
    CHECK(e * e == testing::approx(interval_squares[n - 1]).epsilon(1e-14));
  }
  CHECK_FALSE(interval_error(x, 10));
  const double tvar[] = {41.0 / 8, 1.0 / 2, 29.0 / 108};
  const double avar[] = {123.0 / 8, 43.0 / 48, 53.0 / 72, 13.0 / 32};
  for (std::size_t n = 1; n <= 4; ++n) {
    CAPTURE(n);
    // A few roundings of a double.
    const double a = allan_deviation(x, n, 1.0)->value;
    CHECK(a * a == testing::approx(avar[n - 1]).epsilon(1e-14));
    if (n > 3) continue;
    const double t = time_deviation(x, n)->value;
    CHECK(t * t == testing::approx(tvar[n - 1]).epsilon(1e-14));
  }
}

TEST_CASE(
    "max_time_interval_error: windows of any length, by looking at each") {
  constexpr std::uint64_t kSeed = 401;
  INFO("seed ", kSeed);
  std::mt19937_64 random(kSeed);
  std::normal_distribution<double> normal;
  std::vector<double> x(300);
  for (double& v : x) v = normal(random);
  for (std::size_t i = 50; i < 60; ++i) x[i] = kMissing;
  for (std::size_t m = 1; m < x.size(); ++m) {
    double widest = -1.0;
    for (std::size_t i = 0; i + m < x.size(); ++i) {
      double low = 1e9, high = -1e9;
      for (std::size_t j = i; j <= i + m; ++j) {
        if (std::isnan(x[j])) continue;
        low = std::min(low, x[j]);
        high = std::max(high, x[j]);
      }
      widest = std::max(widest, high - low);
    }
    CAPTURE(m);
    REQUIRE(*max_time_interval_error(x, m) == widest);
  }
}

TEST_CASE("phase deviations: terms that a missing phase is part of are left") {
  // By looking at each term.
  constexpr std::uint64_t kSeed = 402;
  INFO("seed ", kSeed);
  std::mt19937_64 random(kSeed);
  std::normal_distribution<double> normal;
  std::vector<double> x(200);
  for (double& v : x) v = normal(random);
  for (const std::size_t i : {0u, 77u, 78u, 140u, 199u}) x[i] = kMissing;
  for (const std::size_t m : {1u, 2u, 5u, 13u, 40u}) {
    CAPTURE(m);
    double a = 0, h = 0, s = 0;
    std::int64_t na = 0, nh = 0, ns = 0;
    for (std::size_t i = 0; i + 2 * m < x.size(); ++i) {
      const double d = x[i + 2 * m] - 2 * x[i + m] + x[i];
      if (std::isnan(d)) continue;
      a += d * d;
      ++na;
    }
    for (std::size_t i = 0; i + 3 * m < x.size(); ++i) {
      const double d = x[i + 3 * m] - 3 * x[i + 2 * m] + 3 * x[i + m] - x[i];
      if (std::isnan(d)) continue;
      h += d * d;
      ++nh;
    }
    for (std::size_t i = 0; i + 3 * m <= x.size(); ++i) {
      double d = 0;
      for (std::size_t j = i; j < i + m; ++j) {
        d += x[j + 2 * m] - 2 * x[j + m] + x[j];
      }
      if (std::isnan(d)) continue;
      s += d * d;
      ++ns;
    }
    const auto md = static_cast<double>(m);
    const auto allan = allan_deviation(x, m, 0.5);
    const auto hadamard = hadamard_deviation(x, m, 0.5);
    const auto modified = modified_allan_deviation(x, m, 0.5);
    CHECK(allan->n == na);
    CHECK(hadamard->n == nh);
    REQUIRE(modified.has_value() == (ns > 0));
    // Roundings of sums of 200 squares.
    CHECK(allan->value ==
          testing::approx(std::sqrt(a / (2.0 * static_cast<double>(na))) /
                          (0.5 * md))
              .epsilon(1e-12));
    CHECK(hadamard->value ==
          testing::approx(std::sqrt(h / (6.0 * static_cast<double>(nh))) /
                          (0.5 * md))
              .epsilon(1e-12));
    if (!modified) continue;
    CHECK(modified->n == ns);
    CHECK(modified->value ==
          testing::approx(std::sqrt(s / (2.0 * static_cast<double>(ns))) / md /
                          (0.5 * md))
              .epsilon(1e-12));
  }
}

TEST_CASE("phase deviations: a few phases, and such as are all missing") {
  const std::vector<double> two = {1.0, 2.0};
  CHECK_FALSE(allan_deviation(two, 1, 1.0));
  CHECK_FALSE(hadamard_deviation(two, 1, 1.0));
  CHECK_FALSE(modified_allan_deviation(two, 1, 1.0));
  CHECK(*max_time_interval_error(two, 1) == 1.0);
  const std::vector<double> none(10, kMissing);
  CHECK_FALSE(allan_deviation(none, 1, 1.0));
  CHECK_FALSE(time_deviation(none, 1));
  CHECK_FALSE(max_time_interval_error(none, 1));
  CHECK_FALSE(allan_deviation({}, 1, 1.0));
  CHECK_FALSE(max_time_interval_error({}, 1));
}
