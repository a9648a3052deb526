// SPDX-License-Identifier: GPL-3.0-or-later
#include "clockassay/estimate/half_period.h"

#include <doctest/doctest.h>

#include <cmath>
#include <random>
#include <vector>

#include "clockassay/edges/numbering.h"
#include "clockassay/estimate/edge_line.h"
#include "support/approx.h"
#include "support/test_channel.h"
#include "support/test_stretch.h"
#include "support/two_threads.h"

using namespace clockassay;

TEST_CASE("describe_half_periods: six halves by hand") {
  // Rises at 0 100 200 300, falls at 48 151 250: highs 48 51 50, lows 52 49 50,
  // off half of 100 by -2 1 0 2 -1 0. The falling edge after 300 is left out.
  const TestStretch s =
      stretch_from_edges(std::vector<std::int64_t>{0, 100, 200, 300},
                         std::vector<std::int64_t>{48, 151, 250, 350}, 2);
  const EdgeView view(s.stretch);
  const EdgeSums sums = sum_edges(view, serial_for).value();
  const auto j = describe_half_periods(view, sums, 0.0, 1e-9, serial_for);
  REQUIRE(j);
  CHECK(j->count == 6);
  CHECK(j->peak.value() == testing::approx(2e-9));
  CHECK(j->rms.value() == testing::approx(std::sqrt(10.0 / 6.0) * 1e-9));
  // A period of 101: half a tick more is subtracted.
  const auto longer = describe_half_periods(view, sums, 1.0, 1e-9, serial_for);
  CHECK(longer->peak.value() == testing::approx(2.5e-9));
}

TEST_CASE(
    "describe_half_periods: a lost cycle has no halves, blocks no matter") {
  // 10 000 cycles of 100 and 41 high, cycle 5000 lost: highs 9 off half, lows 9
  // the other way, and none across the gap.
  const TestChannel channel = channel_with_lost_cycle(41);
  const EdgeStore store = number_cycles(channel.record, 1.0);
  REQUIRE(store.stretches.size() == 1);
  const EdgeView view(store.stretches.front());
  const EdgeSums sums = sum_edges(view, serial_for).value();
  const auto j = describe_half_periods(view, sums, 0.0, 1.0, serial_for);
  REQUIRE(j);
  CHECK(j->count == 9999 + 9997);
  CHECK(j->rms.value() == testing::approx(9.0));
  CHECK(j->peak.value() == testing::approx(9.0));
  CHECK_FALSE(describe_half_periods(
      view.only(Polarity::kRising),
      sum_edges(view.only(Polarity::kRising), serial_for).value(), 0.0, 1.0,
      serial_for));
}

TEST_CASE("describe_half_periods: the same bits for any blocks and threads") {
  constexpr std::uint64_t kSeed = 8;
  INFO("seed ", kSeed);
  std::mt19937_64 random(kSeed);
  const SampledEdges e = sample_edges(40.382, 0.47, 0.4, 9000, random);
  std::optional<HalfPeriodJitter> first;
  for (const std::size_t block : {2048u, 100u, 7u}) {
    const TestStretch s = stretch_from_edges(e.rises, e.falls, block);
    const EdgeView view(s.stretch);
    const EdgeSums sums = sum_edges(view, serial_for).value();
    for (const ParallelFor& parallel_for :
         {ParallelFor(serial_for), ParallelFor(two_threads)}) {
      const auto j =
          describe_half_periods(view, sums, 0.25, 1e-9, parallel_for);
      REQUIRE(j);
      if (!first) first = j;
      CHECK(j->rms.value() == first->rms.value());
      CHECK(j->peak.value() == first->peak.value());
      CHECK(j->count == first->count);
    }
  }
  // White edges of 0.4 and sampling: half periods of sqrt(2 (0.16 + 1/12)), and
  // the duty is off by 0.03 periods. 5 in 100: sampling is not quite uniform.
  const double expected =
      std::hypot(std::sqrt(2.0 * (0.16 + 1.0 / 12.0)), 0.03 * 40.382);
  CHECK(first->rms.value() * 1e9 == testing::approx(expected).epsilon(0.05));
}
