// SPDX-License-Identifier: GPL-3.0-or-later
#include "clockassay/estimate/feasible_set.h"

#include <doctest/doctest.h>

#include <cmath>

#include "clockassay/estimate/edge_line.h"
#include "support/approx.h"
#include "support/test_stretch.h"

using namespace clockassay;

namespace {

constexpr std::int64_t kOneTick = kWindowUnits;

struct BothWays {
  FeasibleSet fast;
  FeasibleSet plain;
  EdgeFrame frame;
};

BothWays both_ways(const Stretch& stretch) {
  const EdgeView view(stretch);
  const EdgeSums sums = sum_edges(view, serial_for).value();
  const auto line = fit_line(sums.rise, sums.fall);
  REQUIRE(line);
  return {find_feasible_set(
              view, sums.frame,
              find_extremes(view, sums.frame, line->slope, serial_for),
              kOneTick, serial_for),
          feasible_set_from(all_hulls(view, sums.frame), kOneTick), sums.frame};
}

bool equal_sets(const FeasibleSet& a, const FeasibleSet& b) {
  bool same = equal(a.range, b.range) && equal(a.wide.low, b.wide.low) &&
              equal(a.wide.high, b.wide.high) &&
              a.bounds.has_value() == b.bounds.has_value();
  if (same && a.bounds) {
    same = equal(a.bounds->low, b.bounds->low) &&
           equal(a.bounds->high, b.bounds->high) &&
           *a.mean_slope == *b.mean_slope;
  }
  return same;
}

/// A period of every kind that matters to sampling.
double draw_period(std::mt19937_64& random) {
  std::uniform_real_distribution<double> u(-1.0, 1.0);
  switch (random() % 6) {
    case 0:
      return 40.381966;
    case 1:
      return 40.0 + 0.45 * u(random);
    case 2:
      return 40.0 * (1.0 + 5e-6 * u(random));
    case 3:
      return 40.0 * (1.0 + 5e-5 * u(random));
    case 4:
      return 40.0;
    default:
      return 40.5 + 1e-5 * u(random);
  }
}

}  // namespace

TEST_CASE("feasible set: a clock locked to the sampler, by hand") {
  // Rises at 0 40 … 3960 (k = 0 … 99), falls at 20 … 3940 (k = 0 … 98), window
  // one tick. Any two rises i < j allow 40 +- 1/(j - i): together 40 +- 1/99;
  // the falls allow 40 +- 1/98. Smallest range 0 at 40, so that one window
  // above it is the same interval. By symmetry the mean is 40.
  std::vector<std::int64_t> rises, falls;
  for (std::int64_t k = 0; k < 100; ++k) {
    rises.push_back(40 * k);
    falls.push_back(40 * k + 20);
  }
  const TestStretch s = stretch_from_edges(rises, falls, 2048);
  const FeasibleSet set = both_ways(s.stretch).fast;
  CHECK(equal(set.range, {0, 1}));
  REQUIRE(set.bounds);
  CHECK(equal(set.bounds->low, {-1, 99}));
  CHECK(equal(set.bounds->high, {1, 99}));
  CHECK(equal(set.wide.low, {-1, 99}));
  CHECK(equal(set.wide.high, {1, 99}));
  CHECK(std::abs(*set.mean_slope) < 1e-15);
}

TEST_CASE("feasible set: two edges allow one tick either way") {
  const TestStretch s = stretch_from_edges(std::vector<std::int64_t>{0, 50},
                                           std::vector<std::int64_t>{20, 0}, 8);
  const FeasibleSet set = both_ways(s.stretch).fast;
  REQUIRE(set.bounds);
  CHECK(equal(set.bounds->low, {-1, 1}));
  CHECK(equal(set.bounds->high, {1, 1}));
  CHECK(std::abs(*set.mean_slope) < 1e-15);
}

TEST_CASE("feasible set: the mean over the set, by hand") {
  // Rises 0 10 21 with period 11 - 1/2 … : frame period 11 (21/2 rounded up),
  // y = -(−1)… only the mean of a triangle matters here: rises 0 and 10 and a
  // window of one tick give the density 1 - |s| on (-1, 1) about slope 0, and
  // a third edge at 21 (k = 2) cuts it: R(s) over k = -1 0 1.
  const TestStretch s =
      stretch_from_edges(std::vector<std::int64_t>{0, 10, 21},
                         std::vector<std::int64_t>{5, 15, 0}, 8);
  const EdgeView view(s.stretch);
  const EdgeFrame frame = frame_of(view);
  const FeasibleSet set = feasible_set_from(all_hulls(view, frame), kOneTick);
  REQUIRE(set.bounds);
  // In periods P: rises allow (21-0-1)/2 < P < (10-0+1)/1 and (21-10-1) < P <
  // (21-0+1)/2: 10 < P < 11; falls 5 15 allow 9 < P < 11.
  const double base = static_cast<double>(frame.period);
  CHECK(base + set.bounds->low.value() == testing::approx(10.0));
  CHECK(base + set.bounds->high.value() == testing::approx(11.0));
  // Rise residuals at P: 0, 10-P, 21-2P. For P in (10, 11): the range is
  // max(0, 21-2P) - (10-P) for 10-P <= 0. On (10, 10.5): 21-2P-10+P = 11-P,
  // weight P-10; on (10.5, 11): P-10, weight 11-P. Falls: |10-P|, weight 11-P.
  // Mean of P with density (P-10)(11-P) on (10, 10.5), (11-P)^2 on (10.5, 11).
  // With x = P - 10: mass = 1/12 + 1/24 = 1/8; first moment: int x^2(1-x) on
  // (0, 1/2) = 1/24 - 1/64 = 5/192; int x(1-x)^2 on (1/2, 1) = [x^2/2 - 2x^3/3
  // + x^4/4] = (1/2 - 2/3 + 1/4) - (1/8 - 1/12 + 1/64) = 1/12 - 11/192 =
  // 5/192; sum 10/192, over 1/8: 5/12.
  CHECK(base + *set.mean_slope == testing::approx(10.0 + 5.0 / 12.0));
}

TEST_CASE("feasible set: the fast way equals the plain chain, exactly") {
  constexpr std::uint64_t kSeed = 31415;
  INFO("seed ", kSeed);
  std::mt19937_64 random(kSeed);
  const double sigmas[] = {0, 0, 0, 0.001, 0.01, 0.03, 0.1, 0.3, 1, 3};
  int feasible = 0;
  for (int trial = 0; trial < 10'000; ++trial) {
    CAPTURE(trial);
    const auto cycles = static_cast<std::size_t>(
        5.0 + std::exp(std::uniform_real_distribution<>(
                  0.0, std::log(2000.0))(random)));
    const double period = draw_period(random);
    const double sigma = sigmas[random() % 10];
    SampledEdges e = sample_edges(period, 0.48, sigma, cycles, random);
    // Every other capture late, near the last stamp that there can be.
    constexpr std::int64_t kLate = std::int64_t{1} << 62;
    for (auto* list : {&e.rises, &e.falls}) {
      for (std::int64_t& tick : *list) tick += trial % 2 == 0 ? 0 : kLate;
    }
    const TestStretch s =
        stretch_from_edges(e.rises, e.falls, 8 + random() % 120);
    const BothWays b = both_ways(s.stretch);
    CHECK(equal_sets(b.fast, b.plain));
    if (b.fast.bounds) ++feasible;
  }
  CHECK(feasible > 3000);  // both cases were met often
  CHECK(feasible < 8000);
}

TEST_CASE("feasible set: without jitter it contains the truth, always") {
  constexpr std::uint64_t kSeed = 27182;
  INFO("seed ", kSeed);
  std::mt19937_64 random(kSeed);
  for (int trial = 0; trial < 3000; ++trial) {
    CAPTURE(trial);
    const auto cycles = static_cast<std::size_t>(
        1.0 + std::exp(std::uniform_real_distribution<>(
                  0.0, std::log(3000.0))(random)));
    const double period = draw_period(random);
    const SampledEdges e = sample_edges(period, 0.37, 0.0, cycles, random);
    const TestStretch s = stretch_from_edges(e.rises, e.falls, 256);
    const BothWays b = both_ways(s.stretch);
    REQUIRE(b.fast.bounds);
    const double base = static_cast<double>(b.frame.period);
    // Edges are formed in doubles of up to 1e5: their rounding, 1e-11, can
    // shift a period by no more.
    CHECK(base + b.fast.bounds->low.value() <= period + 2e-11);
    CHECK(base + b.fast.bounds->high.value() >= period - 2e-11);
  }
}
