// SPDX-License-Identifier: GPL-3.0-or-later
#include "clockassay/estimate/edge_sums.h"

#include <doctest/doctest.h>

#include <algorithm>
#include <thread>

#include "support/test_stretch.h"

using namespace clockassay;

namespace {

/// A rising and falling edge list of three cycles and a last rise.
const std::vector<std::int64_t> kRises = {7, 17, 28, 37};
const std::vector<std::int64_t> kFalls = {12, 22, 32, 0};

void reversed_for(std::size_t count,
                  const std::function<void(std::size_t)>& task) {
  for (std::size_t i = count; i-- > 0;) task(i);
}

bool same(const EdgeSums& a, const EdgeSums& b) {
  const PeriodSums &p = a.periods, &q = b.periods;
  return a.rise == b.rise && a.fall == b.fall && p.periods == q.periods &&
         p.sum == q.sum && p.squares == q.squares &&
         p.period_min == q.period_min && p.period_max == q.period_max &&
         p.pairs == q.pairs && p.pair_squares == q.pair_squares &&
         p.pair_peak == q.pair_peak && a.first_cycle == b.first_cycle &&
         a.last_cycle == b.last_cycle;
}

}  // namespace

TEST_CASE("sum_edges: sums of a small stretch are as computed by hand") {
  const TestStretch s = stretch_from_edges(kRises, kFalls, 2);
  const EdgeSums sums = sum_edges(EdgeView(s.stretch), serial_for).value();
  // Period (37 - 7)/3 = 10, centre cycle 1, origin 7 + 10 = 17:
  // k = -1 0 1 2, y = 7-17+10, 17-17, 28-17-10, 37-17-20 = 0 0 1 0.
  CHECK(sums.frame.period == 10);
  CHECK(sums.rise.n == 4);
  CHECK(sums.rise.k == 2);
  CHECK(sums.rise.kk == 6);
  CHECK(sums.rise.y == 1);
  CHECK(sums.rise.ky == 1);
  CHECK(sums.rise.yy == 1);
  // Falls 12 22 32: y = 5 5 5 at k = -1 0 1.
  CHECK(sums.fall.n == 3);
  CHECK(sums.fall.y == 15);
  CHECK(sums.fall.ky == 0);
  CHECK(sums.fall.yy == 75);
  // Periods 10 11 9: off by 0 1 -1; neighbours differ by 1 and -2.
  CHECK(sums.periods.periods == 3);
  CHECK(sums.periods.sum == 0);
  CHECK(sums.periods.squares == 2);
  CHECK(sums.periods.period_min == -1);
  CHECK(sums.periods.period_max == 1);
  CHECK(sums.periods.pairs == 2);
  CHECK(sums.periods.pair_squares == 5);
  CHECK(sums.periods.pair_peak == 2);
}

TEST_CASE("sum_edges: any blocks and any order of work give the same sums") {
  std::mt19937_64 random(11);
  const SampledEdges e = sample_edges(40.3819, 0.3, 1.5, 5000, random);
  const TestStretch whole = stretch_from_edges(e.rises, e.falls, 2048);
  const EdgeSums expected =
      sum_edges(EdgeView(whole.stretch), serial_for).value();
  for (std::size_t cycles : {1u, 2u, 3u, 7u, 100u, 2047u}) {
    CAPTURE(cycles);
    const TestStretch s = stretch_from_edges(e.rises, e.falls, cycles);
    CHECK(same(sum_edges(EdgeView(s.stretch), serial_for).value(), expected));
    CHECK(same(sum_edges(EdgeView(s.stretch), reversed_for).value(), expected));
  }
}

TEST_CASE("sum_edges: the place in time changes nothing, however late") {
  std::mt19937_64 random(12);
  SampledEdges e = sample_edges(40.3819, 0.3, 0.5, 3000, random);
  const TestStretch near = stretch_from_edges(e.rises, e.falls, 100);
  const EdgeSums expected =
      sum_edges(EdgeView(near.stretch), serial_for).value();
  constexpr std::int64_t kLate = (std::int64_t{1} << 62) - 1'000'000;
  for (auto* list : {&e.rises, &e.falls}) {
    for (std::int64_t& t : *list) t += kLate;
  }
  const TestStretch late = stretch_from_edges(e.rises, e.falls, 100);
  CHECK(same(sum_edges(EdgeView(late.stretch), serial_for).value(), expected));
}

TEST_CASE("sum_edges: a missing cycle interrupts periods, not sums") {
  // Rises 0 10 - 30 40: two periods, no pair across the gap.
  Stretch s;
  ExplicitEdges edges;
  edges.rise = {{0, 0}, {1, 10}, {3, 30}, {4, 41}};
  s.blocks.push_back({Cycles(0), Ticks(0), edges});
  s.first = Ticks(0);
  s.last = Ticks(41);
  const EdgeSums sums = sum_edges(EdgeView(s), serial_for).value();
  CHECK(sums.periods.periods == 2);
  CHECK(sums.periods.pairs == 0);
  CHECK(sums.rise.n == 4);
  CHECK(sums.fall.n == 0);
}

TEST_CASE("sum_edges: an hour of pulses in ticks of a femtosecond is summed") {
  // One a second, high for half of it, up to 2^62 ticks: the falling edges lie
  // 5e14 ticks off the line of the rising ones.
  constexpr std::int64_t kSecond = 1'000'000'000'000'000;
  constexpr std::int64_t kPulses = 4611;
  std::vector<std::int64_t> rises, falls;
  for (std::int64_t i = 0; i < kPulses; ++i) {
    rises.push_back(i * kSecond + i % 3);
    falls.push_back(i * kSecond + kSecond / 2);
  }
  REQUIRE(rises.back() > (std::int64_t{1} << 62) - 2 * kSecond);
  const TestStretch whole = stretch_from_edges(rises, falls, 2048);
  const auto sums = sum_edges(EdgeView(whole.stretch), serial_for);
  REQUIRE(sums);
  // The rises are 0 1 2 0 1 2 … late, the first and the last (4610 = 3 1536 +
  // 2) by 0 and 2 ticks: the mean period is a second, rounded.
  CHECK(sums->frame.period == kSecond);
  CHECK(sums->rise.n == kPulses);
  CHECK(sums->fall.n == kPulses - 1);
  // 1537 times 0 1 2.
  CHECK(sums->rise.y == 1537 * 3);
  CHECK(sums->rise.yy == 1537 * 5);
  CHECK(sums->fall.y == Int128(kPulses - 1) * (kSecond / 2));
  CHECK(sums->fall.yy == Int128(kPulses - 1) * (kSecond / 2) * (kSecond / 2));
  for (std::size_t cycles : {1u, 3u, 100u, 2047u}) {
    CAPTURE(cycles);
    const TestStretch s = stretch_from_edges(rises, falls, cycles);
    CHECK(same(sum_edges(EdgeView(s.stretch), reversed_for).value(), *sums));
  }
}

TEST_CASE("largest_residual: a period of the longest capture, within limits") {
  constexpr auto kPower = [](int i) { return std::int64_t{1} << i; };
  CHECK(largest_residual(1) == kPower(51));
  CHECK(largest_residual(kPower(11)) == kPower(51));
  CHECK(largest_residual(kPower(12)) == kPower(50));
  CHECK(largest_residual(4611) > 1'000'000'000'000'000);
  CHECK(largest_residual(kPower(17)) == kPower(45));
  CHECK(largest_residual(kPower(33)) == kPower(45));
}

TEST_CASE("sum_edges: where sums end does not depend on the blocks") {
  // 200 periods of 2^53 ticks, the high times such that falling edges are off
  // by the most there may be: whichever edge a block begins with.
  constexpr std::int64_t kPeriod = std::int64_t{1} << 53;
  const std::int64_t limit = largest_residual(200);
  for (const bool within : {true, false}) {
    CAPTURE(within);
    std::vector<std::int64_t> rises, falls;
    for (std::int64_t i = 0; i <= 200; ++i) {
      rises.push_back(i * kPeriod);
      falls.push_back(i * kPeriod + (i == 77 ? limit - within : 5));
    }
    for (std::size_t cycles : {1u, 7u, 77u, 78u, 1000u}) {
      CAPTURE(cycles);
      const TestStretch s = stretch_from_edges(rises, falls, cycles);
      CHECK(sum_edges(EdgeView(s.stretch), serial_for).has_value() == within);
    }
  }
}

TEST_CASE("sum_edges: residuals too large to sum exactly are refused") {
  // Periods of 2^52 ticks, the middle edge 2^51 late, or one less.
  constexpr std::int64_t kPeriod = std::int64_t{1} << 52;
  const auto sums = [&](std::int64_t late) {
    Stretch s;
    ExplicitEdges edges;
    edges.rise = {{0, 0}, {1, kPeriod + late}, {2, 2 * kPeriod}};
    s.blocks.push_back({Cycles(0), Ticks(0), edges});
    s.first = Ticks(0);
    s.last = Ticks(2 * kPeriod);
    return sum_edges(EdgeView(s), serial_for);
  };
  const auto within = sums(kPeriod / 2 - 1);
  REQUIRE(within);
  CHECK(within->rise.yy == Int128(kPeriod / 2 - 1) * (kPeriod / 2 - 1));
  CHECK(within->periods.pair_peak == kPeriod - 2);
  const auto beyond = sums(kPeriod / 2);
  REQUIRE_FALSE(beyond);
  CHECK(beyond.error().code == ErrorCode::kOutOfRange);
  CHECK(beyond.error().message ==
        "the edges lie too many ticks off a steady clock for exact sums");
}
