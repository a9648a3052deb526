// SPDX-License-Identifier: GPL-3.0-or-later
#include "clockassay/estimate/repair_spacing.h"

#include <doctest/doctest.h>

#include <cmath>
#include <cstdint>
#include <functional>
#include <random>
#include <vector>

using namespace clockassay;

namespace {

constexpr double kPeriod = 40.38;  // ticks

Ticks tick_of(std::int64_t cycle) {
  return Ticks(std::llround(static_cast<double>(cycle) * kPeriod));
}

/// As the numbering lists cycles of which those are lost.
std::vector<Repair> lost(std::int64_t cycles,
                         const std::function<bool(std::int64_t)>& is_lost) {
  std::vector<Repair> repairs;
  std::int64_t run = 0;
  for (std::int64_t n = 0; n < cycles; ++n) {
    if (is_lost(n)) {
      ++run;
      continue;
    }
    if (run > 0) {
      repairs.push_back({RepairKind::kMissingCycle, tick_of(n), run});
    }
    run = 0;
  }
  return repairs;
}

/// A further pulse in each of those.
std::vector<Repair> added(std::int64_t cycles,
                          const std::function<bool(std::int64_t)>& has_pulse) {
  std::vector<Repair> repairs;
  for (std::int64_t n = 0; n < cycles; ++n) {
    if (!has_pulse(n)) continue;
    for (const int at : {23, 27}) {
      repairs.push_back({RepairKind::kExtraEdge, tick_of(n) + Ticks(at), 1});
    }
  }
  return repairs;
}

bool is_regular(const std::vector<Repair>& repairs) {
  return find_regular_repairs(repairs, kPeriod).has_value();
}

}  // namespace

TEST_CASE("find_regular_repairs: one cycle in so many") {
  for (const int every : {3, 8, 10, 20, 1000, 2048}) {
    CAPTURE(every);
    const auto is_one = [every](std::int64_t n) { return n % every == 1; };
    const auto found =
        find_regular_repairs(lost(5 * every + 40, is_one), kPeriod);
    REQUIRE(found);
    CHECK(found->kind == RepairKind::kMissingCycle);
    CHECK(found->spacing == every - 1);
    CHECK(found->at_spacing == found->places - 1);
    CHECK(is_regular(added(5 * every + 40, is_one)));
  }
  // Three alike are enough where they are far apart, two never.
  const auto far = [](std::int64_t n) { return n % 8192 == 100; };
  CHECK(is_regular(lost(3 * 8192, far)));
  CHECK_FALSE(is_regular(lost(2 * 8192, far)));
}

TEST_CASE("find_regular_repairs: patterns that are not of one distance") {
  // Six of sixteen in a row; a divider of two ratios; pulses dropped by the
  // turned bits of a counter, as calibrations do.
  CHECK(is_regular(lost(2000, [](auto n) { return n % 16 > 9; })));
  CHECK(is_regular(lost(20000, [](auto n) { return (n * 7) % 73 < 7; })));
  for (const std::int64_t drops : {5, 37, 100}) {
    CAPTURE(drops);
    const auto dropped = [drops](std::int64_t n) {
      std::int64_t turned = 0;
      for (int bit = 0; bit < 10; ++bit) turned |= (n >> bit & 1) << (9 - bit);
      return turned < drops;
    };
    CHECK(is_regular(lost(20 * 1024, dropped)));
  }
}

TEST_CASE("find_regular_repairs: a few by chance do not hide a pattern") {
  constexpr std::uint64_t kSeed = 11;
  INFO("seed ", kSeed);
  std::mt19937_64 random(kSeed);
  CHECK(is_regular(lost(40 * 500, [&](std::int64_t n) {
    return n % 500 == 100 || random() % 2000 == 0;
  })));
}

TEST_CASE("find_regular_repairs: chance is not called regular") {
  // Either test is wrong less than once in a thousand, by its bound: of N
  // captures 0.002 N, and four standard deviations of a binomial count.
  constexpr std::uint64_t kSeed = 12;
  constexpr int kTrials = 2000;
  INFO("seed ", kSeed);
  std::mt19937_64 random(kSeed);
  struct Damage {
    std::int64_t cycles;
    int one_in;
  };
  for (const Damage& damage :
       {Damage{100, 3}, Damage{300, 6}, Damage{1000, 10}, Damage{5000, 50},
        Damage{20000, 7000}, Damage{20000, 2000}, Damage{3000, 5}}) {
    const std::int64_t cycles = damage.cycles;
    const int one_in = damage.one_in;
    CAPTURE(cycles);
    CAPTURE(one_in);
    std::bernoulli_distribution is_one(1.0 / one_in);
    int lost_regular = 0;
    int added_regular = 0;
    for (int trial = 0; trial < kTrials; ++trial) {
      const auto by_chance = [&](std::int64_t) { return is_one(random); };
      lost_regular += is_regular(lost(cycles, by_chance));
      added_regular += is_regular(added(cycles, by_chance));
    }
    const double most = 0.002 * kTrials;
    CHECK(lost_regular <= most + 4.0 * std::sqrt(most));
    CHECK(added_regular <= most + 4.0 * std::sqrt(most));
  }
}
