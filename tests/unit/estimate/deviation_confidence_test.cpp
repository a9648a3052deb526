// SPDX-License-Identifier: GPL-3.0-or-later
#include "estimate/deviation_confidence.h"

#include <doctest/doctest.h>

#include <cmath>
#include <cstdlib>

#include "support/approx.h"

using namespace clockassay;

namespace {

constexpr NoiseKind kAll[] = {NoiseKind::kWhitePhase, NoiseKind::kFlickerPhase,
                              NoiseKind::kWhiteFrequency,
                              NoiseKind::kFlickerFrequency,
                              NoiseKind::kWalkFrequency};

/// The variance of n phases at m, as Greenhall and Riley count its terms.
DifferenceVariance of_phases(int order, bool modified, std::int64_t m,
                             std::int64_t stride, std::int64_t n) {
  const std::int64_t length = (modified ? m : 1) + order * m;
  return {order, modified ? 1.0 : static_cast<double>(m), stride,
          1 + stride * (n - length) / m};
}

}  // namespace

TEST_CASE("equivalent_dof: 1001 phases at m = 10, all noise, all variances") {
  // The sums of C. A. Greenhall and W. J. Riley (PTTI 2003) over all terms,
  // worked out to four decimals apart from this code.
  struct Row {
    int order;
    bool modified;
    std::int64_t stride;
    double dof[5];
  };
  const Row rows[] = {
      {2, false, 1, {51.1802, 54.4004, 66.9876, 87.7782, 87.9581}},
      {2, false, 10, {507.1731, 247.3068, 135.0714, 114.6687, 91.0384}},
      {2, true, 10, {123.9402, 98.1165, 94.6343, 93.2730, 74.9571}},
      {3, false, 1, {42.7072, 44.5072, 51.1385, 62.6869, 76.9647}},
      {3, false, 10, {423.1763, 207.9480, 113.6989, 97.0285, 94.3238}}};
  for (const Row& row : rows) {
    for (std::size_t i = 0; i < 5; ++i) {
      CAPTURE(row.order);
      CAPTURE(row.modified);
      CAPTURE(row.stride);
      CAPTURE(i);
      const double dof = equivalent_dof(
          kAll[i], of_phases(row.order, row.modified, 10, row.stride, 1001));
      CHECK(std::abs(dof - row.dof[i]) <= 0.5e-4);
    }
  }
}

TEST_CASE("equivalent_dof: white noise by the covariances of its terms") {
  // M^2 R0^2 / sum (M - |k|) Rk^2 over second differences of M + 2m phases:
  // white phases R0, Rm, R2m = 6, -4, 1; a walk of the phase (white frequency)
  // Rk = 2m - 3k up to m, then -(2m - k).
  struct Case {
    std::int64_t m, terms;
  };
  for (const Case c :
       {Case{1, 50}, Case{10, 981}, Case{1000, 500}, Case{1000, 1500},
        Case{1000, 3500}, Case{2000, 100'000}}) {
    CAPTURE(c.m);
    CAPTURE(c.terms);
    double phase = 0.0, walk = 0.0;
    for (std::int64_t k = 1 - c.terms; k < c.terms; ++k) {
      const std::int64_t lag = std::abs(k);
      const auto weight = static_cast<double>(c.terms - lag);
      const double p = lag == 0         ? 6.0
                       : lag == c.m     ? -4.0
                       : lag == 2 * c.m ? 1.0
                                        : 0.0;
      const auto w = static_cast<double>(lag <= c.m       ? 2 * c.m - 3 * lag
                                         : lag <= 2 * c.m ? lag - 2 * c.m
                                                          : 0);
      phase += weight * p * p;
      walk += weight * w * w;
    }
    const auto m = static_cast<double>(c.m);
    const auto terms = static_cast<double>(c.terms);
    CHECK(allan_dof(NoiseKind::kWhitePhase, c.m, c.m, c.terms) ==
          testing::approx(terms * terms * 36.0 / phase).epsilon(1e-12));
    // The model's walk is continuous, with R0 = 2m to be compared with the
    // sums of m steps, and the same Rk: exact where all lags are summed.
    CHECK(allan_dof(NoiseKind::kWhiteFrequency, c.m, c.m, c.terms) ==
          testing::approx(terms * terms * 4.0 * m * m / walk).epsilon(1e-4));
  }
}

TEST_CASE("equivalent_dof: long sums are as good as whole ones") {
  // Overlapping terms at m = 10000; all terms of the same sums, apart from this
  // code. Flicker of the phase is promised to 0.3 %, the rest to 0.01 %.
  struct Row {
    double taus;
    double dof[4];
  };
  const Row rows[] = {{1.0, {38.496, 2.6664, 1.8247, 1.4026}},
                      {2.5, {63.221, 4.6870, 3.5583, 2.6840}},
                      {20.0, {411.30, 30.766, 23.996, 18.865}},
                      {300.0, {6019.5, 450.71, 352.55, 278.46}}};
  for (const Row& row : rows) {
    for (std::size_t i = 0; i < 4; ++i) {
      CAPTURE(row.taus);
      CAPTURE(i);
      const double dof = equivalent_dof(
          kAll[i + 1],
          {2, 10000.0, 10000, static_cast<std::int64_t>(row.taus * 10000.0)});
      CHECK(dof == testing::approx(row.dof[i]).epsilon(i == 0 ? 0.003 : 1e-4));
    }
  }
}

TEST_CASE("equivalent_dof: one term is one degree, and none is less") {
  for (const NoiseKind kind : kAll) {
    CHECK(allan_dof(kind, 7, 7, 1) == testing::approx(1.0).epsilon(1e-12));
    double before = 0.0;
    for (const std::int64_t terms : {1, 2, 10, 100, 1000, 100'000}) {
      const double dof = allan_dof(kind, 64, 64, terms);
      CHECK(dof >= 1.0 - 1e-9);
      CHECK(dof > before);
      before = dof;
    }
  }
}

TEST_CASE("deviation_interval: chi-squared, of the 1000-point set at m = 10") {
  // Overlapping Allan deviation 9.15995342012e-2, 146.176786 degrees of
  // freedom: 68.27, 90 and 95 % two-sided, by an independent chi-squared, eight
  // digits.
  constexpr double kAdev = 9.15995342012e-2;
  struct Row {
    double coverage, low, high;
  };
  const Row rows[] = {{0.682689492137, 0.08668103, 0.09746298},
                      {0.90, 0.08362350, 0.10142183},
                      {0.95, 0.08219489, 0.10345357}};
  for (const Row& row : rows) {
    const DeviationInterval i = deviation_interval(146.176786, row.coverage);
    CHECK(std::abs(kAdev * i.low - row.low) <= 0.5e-8);
    CHECK(std::abs(kAdev * i.high - row.high) <= 0.5e-8);
  }
}

TEST_CASE("deviation_interval: few and very many degrees of freedom") {
  // One: chi-squared at 97.5 and 2.5 % is 5.02389 and 9.82069e-4.
  const DeviationInterval one = deviation_interval(1.0, 0.95);
  CHECK(one.low == testing::approx(std::sqrt(1 / 5.02389)).epsilon(1e-5));
  CHECK(one.high == testing::approx(std::sqrt(1 / 9.82069e-4)).epsilon(1e-5));
  // Many: normal, with a relative standard deviation of 1 / sqrt(2 dof).
  for (const double dof : {1e6, 1e9}) {
    const DeviationInterval many = deviation_interval(dof, 0.95);
    const double half = 1.959964 / std::sqrt(2.0 * dof);
    // The next order is 1/dof.
    CHECK(std::abs(many.high - 1.0 - half) <= 3.0 / dof);
    CHECK(std::abs(1.0 - many.low - half) <= 3.0 / dof);
  }
}
