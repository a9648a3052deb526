// SPDX-License-Identifier: GPL-3.0-or-later
#include "edges/block_regularity.h"

#include <doctest/doctest.h>

#include <cmath>
#include <random>

#include "clockassay/capture/arena.h"

using namespace clockassay;

namespace {

/// A block of cycles with these rising edges, the last of which ends it, each
/// falling edge `high` later.
CycleBlock block(Arena& arena, const std::vector<std::int64_t>& rises,
                 const std::vector<std::int64_t>& highs) {
  std::vector<std::int64_t> falls;
  for (std::size_t i = 0; i < highs.size(); ++i) {
    falls.push_back(rises[i] + highs[i]);
  }
  return encode_cycles(rises, falls, arena);
}

std::vector<std::int64_t> every(std::int64_t period, std::size_t count) {
  std::vector<std::int64_t> rises;
  for (std::size_t k = 0; k <= count; ++k) {
    rises.push_back(static_cast<std::int64_t>(k) * period);
  }
  return rises;
}

}  // namespace

TEST_CASE("periods_within: a short period leaves an extra edge no room") {
  // Period 3.38 in samples: 3 or 4 by sampling. An extra edge splits 4 into 2
  // and 2, two windows from the period at most but more than one.
  Arena arena;
  const std::vector<std::int64_t> good = {0, 3, 7, 10, 14};
  const std::vector<std::int64_t> split = {0, 3, 5, 7, 10, 14};
  const CycleBlock a = block(arena, good, {1, 2, 1, 2});
  const CycleBlock b = block(arena, split, {1, 1, 1, 1, 2});
  CHECK(periods_within(a, 3.38, 1.0, 1.0));
  CHECK_FALSE(periods_within(b, 3.38, 1.0, 1.0));
  CHECK(periods_within(b, 3.38, 2.0, 1.0));
}

TEST_CASE("raw_numbering_fits: not with an edge too many or too few") {
  Arena arena;
  // Sampled at random places: half a window off at most.
  for (const std::size_t at : {1u, 30u, 100u, 198u}) {
    CAPTURE(at);
    auto rises = every(40, 200);
    CHECK(raw_numbering_fits(
        block(arena, rises, std::vector<std::int64_t>(200, 20)), 40.0));
    auto lost = rises;
    lost.erase(lost.begin() + static_cast<std::ptrdiff_t>(at));
    CHECK_FALSE(raw_numbering_fits(
        block(arena, lost, std::vector<std::int64_t>(199, 20)), 40.0));
    auto extra = rises;
    extra.insert(extra.begin() + static_cast<std::ptrdiff_t>(at) + 1,
                 extra[at] + 19);
    CHECK_FALSE(raw_numbering_fits(
        block(arena, extra, std::vector<std::int64_t>(201, 10)), 40.0));
  }
}

TEST_CASE("pulse_displaced: a pulse in another's place shows") {
  constexpr std::uint64_t kSeed = 8;
  INFO("seed ", kSeed);
  std::mt19937_64 random(kSeed);
  Arena arena;
  for (const double rms : {0.0, 0.5, 2.0}) {
    CAPTURE(rms);
    std::normal_distribution<double> normal(0.0, 1.0);
    auto rises = every(100, 500);
    std::vector<std::int64_t> highs(500, 43);
    for (auto& t : rises) t += std::llround(rms * normal(random));
    CHECK_FALSE(pulse_displaced(block(arena, rises, highs), false, 1.0));
    // By 25: out of the middle of its neighbours by 25, and these by 12.5. The
    // limit is six standard deviations, 6 * 2 * sqrt(1.5) = 14.7, at most.
    auto moved = rises;
    moved[250] += 25;
    CHECK(pulse_displaced(block(arena, moved, highs), false, 1.0));
    auto narrow = highs;
    narrow[250] = 3;
    CHECK(pulse_displaced(block(arena, rises, narrow), false, 1.0));
    CHECK_FALSE(pulse_displaced(block(arena, rises, narrow), true, 1.0));
  }
}

TEST_CASE("pulse_displaced: drift, a step and a pattern are the clock's own") {
  Arena arena;
  const std::vector<std::int64_t> highs(500, 20);
  auto drift = every(100, 500), step = drift, pattern = drift;
  for (std::size_t k = 0; k < drift.size(); ++k) {
    const auto n = static_cast<std::int64_t>(k);
    drift[k] += n * n / 100;                // the period grows by 10 %
    if (k > 250) step[k] += 3 * (n - 250);  // and here at once by 3 %
    if (k % 10 == 0) pattern[k] += 12;      // every tenth pulse comes late
  }
  CHECK_FALSE(pulse_displaced(block(arena, drift, highs), false, 1.0));
  CHECK_FALSE(pulse_displaced(block(arena, step, highs), false, 1.0));
  CHECK_FALSE(pulse_displaced(block(arena, pattern, highs), false, 1.0));
}

TEST_CASE("pulse_displaced: times near the end of what ticks can count") {
  // 100 periods of 2^56 end at 7.2e18; twice that is more than 2^63 = 9.2e18.
  Arena arena;
  constexpr std::int64_t kPeriod = std::int64_t{1} << 56;
  auto rises = every(kPeriod, 100);
  const std::vector<std::int64_t> highs(100, kPeriod / 2);
  CHECK_FALSE(pulse_displaced(block(arena, rises, highs), false, 1.0));
  rises[50] += kPeriod / 4;
  CHECK(pulse_displaced(block(arena, rises, highs), false, 1.0));
}
