// SPDX-License-Identifier: GPL-3.0-or-later
#include "clockassay/edges/numbering.h"

#include <doctest/doctest.h>

#include <algorithm>
#include <cmath>
#include <iterator>
#include <random>

#include "clockassay/capture/simulated_clock.h"
#include "support/test_channel.h"

using namespace clockassay;

namespace {

/// `cycles` pulses of a clock of 40 ticks, high for 20, from tick 1000.
std::vector<std::int64_t> clock40(std::int64_t cycles,
                                  std::int64_t start = 1000) {
  std::vector<std::int64_t> changes;
  for (std::int64_t k = 0; k < cycles; ++k) {
    changes.push_back(start + 40 * k);
    changes.push_back(start + 40 * k + 20);
  }
  return changes;
}

EdgeStore number(const std::vector<std::int64_t>& changes) {
  static std::vector<TestChannel> keep;  // blocks point into the channel
  keep.push_back(channel_from_changes(changes, 0, changes.back() + 40));
  return number_cycles(keep.back().record, 1.0);
}

/// Every rising edge as (cycle, tick), numbered from the first.
std::vector<NumberedEdge> rises(const Stretch& stretch) {
  std::vector<NumberedEdge> out;
  const EdgeView view(stretch);
  BlockEdges edges;
  for (std::size_t b = 0; b < view.block_count(); ++b) {
    view.read_block(b, edges);
    for (std::size_t i = 0; i < edges.rise.count; ++i) {
      out.push_back({edges.first_cycle.count() + edges.rise.cycle[i],
                     edges.first_tick.count() + edges.rise.tick[i]});
    }
  }
  const std::int64_t first = out.empty() ? 0 : out.front().cycle;
  for (NumberedEdge& e : out) e.cycle -= first;
  return out;
}

/// Whether every rising edge kept has the number its instant says.
void check_numbers(const Stretch& stretch, std::int64_t period) {
  const auto edges = rises(stretch);
  for (const NumberedEdge& e : edges) {
    const bool right = e.cycle * period == e.tick - edges.front().tick;
    CHECK(right);
    if (!right) return;
  }
}

}  // namespace

TEST_CASE("number_cycles: a steady clock numbers itself") {
  const EdgeStore store = number(clock40(10000));
  REQUIRE(store.stretches.size() == 1);
  CHECK(store.stretches[0].rising == 10000);
  CHECK(store.stretches[0].falling == 10000);
  CHECK(store.stretches[0].missing == 0);
  CHECK(store.stretches[0].extra == 0);
  CHECK(store.unnumbered_edges == 0);
  check_numbers(store.stretches[0], 40);
}

TEST_CASE("number_cycles: one missing pulse shifts no cycle number") {
  for (std::size_t lost :
       {std::size_t{10}, std::size_t{2047}, std::size_t{2048},
        std::size_t{4999}, std::size_t{9990}}) {
    CAPTURE(lost);
    auto changes = clock40(10000);
    const auto at = changes.begin() + static_cast<std::ptrdiff_t>(2 * lost);
    const std::int64_t after = *(at + 2);
    changes.erase(at, at + 2);
    const EdgeStore store = number(changes);
    REQUIRE(store.stretches.size() == 1);
    CHECK(store.stretches[0].missing == 1);
    CHECK(store.stretches[0].extra == 0);
    REQUIRE(store.stretches[0].repairs.size() == 1);
    CHECK(store.stretches[0].repairs[0] ==
          Repair{RepairKind::kMissingCycle, Ticks(after), 1});
    CHECK(store.stretches[0].rising == 9999);
    check_numbers(store.stretches[0], 40);
  }
}

TEST_CASE("number_cycles: a missing low pulse loses one cycle, not two") {
  auto changes = clock40(6000);
  // Falling edge of cycle 3000 and rising edge of cycle 3001.
  changes.erase(changes.begin() + 6001, changes.begin() + 6003);
  const EdgeStore store = number(changes);
  REQUIRE(store.stretches.size() == 1);
  CHECK(store.stretches[0].missing == 1);
  CHECK(store.stretches[0].extra == 0);
  CHECK(store.stretches[0].rising == 5999);
  CHECK(store.stretches[0].falling == 5999);
  check_numbers(store.stretches[0], 40);
}

TEST_CASE("number_cycles: a glitch is left out with both its edges") {
  // Offsets from a rising edge: while high, while low, next to an edge.
  for (std::int64_t offset : {5, 27, 35}) {
    for (std::size_t cycle :
         {std::size_t{3}, std::size_t{2047}, std::size_t{5000}}) {
      CAPTURE(offset);
      CAPTURE(cycle);
      auto changes = clock40(8000);
      const std::int64_t at = changes[2 * cycle] + offset;
      changes.insert(std::upper_bound(changes.begin(), changes.end(), at),
                     {at, at + 3});
      const EdgeStore store = number(changes);
      REQUIRE(store.stretches.size() == 1);
      CHECK(store.stretches[0].missing == 0);
      CHECK(store.stretches[0].extra == 2);
      CHECK(store.stretches[0].rising == 8000);
      check_numbers(store.stretches[0], 40);
    }
  }
}

TEST_CASE("number_cycles: an extra pulse does not stand in for a lost one") {
  // Pulse 3000, due at 1000 + 40 * 3000 for 20 ticks, is lost; an extra one of
  // 3 ticks comes instead. No number changes. Within two ticks of the rise it
  // passes for it, but its fall does not. The pulse is lost, its edges extra.
  for (const std::int64_t offset : {-12, -5, 1, 2, 7, 12}) {
    CAPTURE(offset);
    auto changes = clock40(6000);
    const std::int64_t due = changes[6000];
    changes[6000] = due + offset;
    changes[6001] = due + offset + 3;
    const EdgeStore store = number(changes);
    REQUIRE(store.stretches.size() == 1);
    CHECK(store.stretches[0].rising == 5999);
    CHECK(store.stretches[0].missing == 1);
    CHECK(store.stretches[0].extra == 2);
    check_numbers(store.stretches[0], 40);
  }
}

TEST_CASE("number_cycles: many lost cycles are not another frequency") {
  // A third of pulses lost leaves eight gaps in a row of two periods and more
  // about once in 3000 edges, sixteen hardly ever.
  constexpr std::uint64_t kSeed = 13;
  INFO("seed ", kSeed);
  std::mt19937_64 random(kSeed);
  const auto whole = clock40(20000);
  std::vector<std::int64_t> changes;
  std::int64_t lost = 0;
  for (std::size_t k = 0; k < 20000; ++k) {
    const bool inner = k > 0 && k + 1 < 20000;
    if (inner && random() % 3 == 0) {
      ++lost;
      continue;
    }
    changes.push_back(whole[2 * k]);
    changes.push_back(whole[2 * k + 1]);
  }
  const EdgeStore store = number(changes);
  REQUIRE(store.stretches.size() == 1);
  CHECK(store.stretches[0].missing == lost);
  check_numbers(store.stretches[0], 40);
}

TEST_CASE("number_cycles: a stop splits, and is not taken for lost cycles") {
  auto changes = clock40(3000);
  const auto later = clock40(3000, changes.back() + 20 + 100 * 40 + 7);
  changes.insert(changes.end(), later.begin(), later.end());
  const EdgeStore store = number(changes);
  REQUIRE(store.stretches.size() == 2);
  CHECK(store.breaks[0] == StretchBreak::kStart);
  CHECK(store.breaks[1] == StretchBreak::kStopped);
  CHECK(store.stretches[0].rising == 3000);
  CHECK(store.stretches[1].rising == 3000);
  CHECK(store.stretches[1].first == Ticks(later.front()));
  CHECK(store.stretches[0].missing == 0);
  check_numbers(store.stretches[1], 40);
}

TEST_CASE("number_cycles: another frequency begins another stretch") {
  // 40 ticks, then 9, then 20: an RC start, a crystal, a PLL.
  std::vector<std::int64_t> changes = clock40(2500);
  std::int64_t t = changes.back() + 20;
  for (int k = 0; k < 5000; ++k, t += 9) {
    changes.push_back(t);
    changes.push_back(t + 4);
  }
  const std::int64_t third = t;
  for (int k = 0; k < 4000; ++k, t += 20) {
    changes.push_back(t);
    changes.push_back(t + 10);
  }
  const EdgeStore store = number(changes);
  REQUIRE(store.stretches.size() == 3);
  CHECK(store.breaks[1] == StretchBreak::kRegimeChange);
  CHECK(store.breaks[2] == StretchBreak::kRegimeChange);
  // The first edge of a regime may still fit the one before.
  CHECK(std::abs(store.stretches[2].first.count() - third) <= 2 * 20);
  CHECK(std::abs(store.stretches[0].rising - 2500) <= 2);
  CHECK(std::abs(store.stretches[1].rising - 5000) <= 4);
  check_numbers(store.stretches[2], 20);
}

TEST_CASE("number_cycles: no simple ratio hides another frequency") {
  // Edges of the second clock coincide with the first one's every few cycles.
  for (const double ratio : {0.5, 0.6, 2.0 / 3.0, 0.75, 0.8, 0.9, 1.1, 1.25,
                             4.0 / 3.0, 1.5, 1.6, 2.0, 3.0, 4.0}) {
    for (const double old : {12.5, 40.4, 100.0}) {
      for (const int cycles : {20, 60, 400}) {
        const double period = old / ratio;
        if (period < 5.0) continue;  // gaps of 3 and 4 are hardly equal
        CAPTURE(ratio);
        CAPTURE(old);
        CAPTURE(cycles);
        std::vector<std::int64_t> changes;
        const auto add = [&](double from, double p, int n) {
          for (int k = 0; k < n; ++k) {
            changes.push_back(std::llround(from + p * k));
            changes.push_back(std::llround(from + p * (k + 0.45)));
          }
          return from + p * n;
        };
        const double begin = add(1000.0, old, 600);
        add(begin, period, cycles);
        const EdgeStore store = number(changes);
        // A block within a quarter of its mean period numbers itself: both
        // clocks in one stretch, to be parted by lines, and nothing repaired.
        std::int64_t repaired = 0;
        for (const Stretch& stretch : store.stretches) {
          CHECK(stretch.missing == 0);
          repaired += stretch.extra;
        }
        // The falling edge about the change may be at either's place.
        CHECK(repaired <= (store.stretches.size() == 1 ? 0 : 2));
        CHECK(store.stretches.back().rising >= cycles - 2);
      }
    }
  }
}

TEST_CASE("number_cycles: an unknown level is crossed by no period") {
  PieceChannelBuilder builder;
  builder.add(Ticks(0), Level::kLow);
  for (std::int64_t t : clock40(100)) {
    builder.add(Ticks(t), (t - 1000) % 40 == 0 ? Level::kHigh : Level::kLow);
  }
  builder.add(Ticks(5100), Level::kUnknown);
  builder.add(Ticks(6000), Level::kLow);
  for (std::int64_t t : clock40(100, 6011)) {
    builder.add(Ticks(t), (t - 6011) % 40 == 0 ? Level::kHigh : Level::kLow);
  }
  Arena arena;
  ChannelJoiner joiner(arena);
  joiner.append(builder.finish());
  const ChannelRecord record = joiner.finish("clock", Ticks(10020));
  const EdgeStore store = number_cycles(record, 1.0);
  REQUIRE(store.stretches.size() == 2);
  CHECK(store.breaks[1] == StretchBreak::kUnknownLevel);
  CHECK(store.stretches[0].rising == 100);
  CHECK(store.stretches[1].rising == 100);
}

TEST_CASE("number_cycles: falling edges that are packing are left out") {
  TestChannel channel = channel_from_changes(clock40(3000), 0, 200000);
  channel.record.rising_only = true;
  const EdgeStore store = number_cycles(channel.record, 1.0);
  REQUIRE(store.stretches.size() == 1);
  CHECK(store.stretches[0].rising == 3000);
  CHECK(store.stretches[0].falling == 0);
  const EdgeView view(store.stretches[0]);
  BlockEdges edges;
  for (std::size_t b = 0; b < view.block_count(); ++b) {
    view.read_block(b, edges);
    CHECK(edges.fall.count == 0);
  }
}

TEST_CASE("number_cycles: lost and extra edges up to a tenth of each") {
  // Truth from the simulation. Every rising edge kept must carry the number of
  // the cycle nearest to it, counted from the first one kept; an edge of a
  // glitch that by chance falls within the window of a lost one may be kept.
  for (const double faults : {0.0002, 0.01, 0.1}) {
    for (const double sigma : {0.0, 0.05, 1.0}) {
      SimulatedClockOptions options;
      options.frequency_hz = Rational(2'476'473);  // 40.38 samples a period
      options.sample_rate_hz = Rational(100'000'000);
      options.cycles = 20000;
      options.jitter_rms_s = sigma * 1e-8;
      options.drop_probability = faults;
      options.glitch_probability = faults;
      options.seed = 7;
      const auto capture = simulate_clock(options);
      REQUIRE(capture);
      const TestChannel channel = channel_from_simulation(*capture);
      const EdgeStore store = number_cycles(channel.record, 1.0);
      CAPTURE(faults);
      CAPTURE(sigma);
      REQUIRE(store.stretches.size() == 1);
      const Stretch& s = store.stretches[0];
      const auto edges = rises(s);
      const double period = 100e6 / 2'476'473.0;
      std::int64_t wrong = 0;
      for (const NumberedEdge& e : edges) {
        const double cycles =
            static_cast<double>(e.tick - edges.front().tick) / period;
        // 6 sigma of two edges, and a sample.
        if (std::abs(cycles - static_cast<double>(e.cycle)) * period >
            1.0 + 9.0 * sigma + 1.0) {
          ++wrong;
        }
      }
      CHECK(wrong == 0);
      // A glitch may by chance stand where a lost edge would be, within the
      // tolerance of two samples or six sigma: as many as that, and four
      // standard deviations.
      const auto& truth = capture->truth;
      const double reach = 2.0 * std::max(2.0, 6.0 * std::max(0.5, sigma)) + 1;
      const double stand_in = 20000 * faults * faults * reach / period;
      CHECK(static_cast<double>(s.missing) >=
            static_cast<double>(truth.dropped) - 3.0 - stand_in -
                4.0 * std::sqrt(stand_in));
      CHECK(static_cast<double>(s.missing) <=
            static_cast<double>(truth.dropped) + 2.0 + 1e-3 * 20000);
      CHECK(static_cast<double>(s.extra) <=
            static_cast<double>(2 * truth.glitches) + 2.0 + 2e-3 * 20000);
      CHECK(static_cast<double>(s.extra) >=
            0.9 * static_cast<double>(2 * (truth.glitches - truth.merged)) -
                4.0);
    }
  }
}

TEST_CASE("number_cycles: a lost pulse is seen in captures of any length") {
  for (std::int64_t cycles = 7; cycles <= 64; ++cycles) {
    for (std::int64_t lost = 1; lost + 1 < cycles; ++lost) {
      // Five gaps in a row must agree somewhere, on either side.
      if (std::max(lost - 1, cycles - 2 - lost) < 5) continue;
      auto changes = clock40(cycles);
      changes.erase(changes.begin() + 2 * lost, changes.begin() + 2 * lost + 2);
      const EdgeStore store = number(changes);
      CAPTURE(cycles);
      CAPTURE(lost);
      REQUIRE(store.stretches.size() == 1);
      CHECK(store.stretches[0].missing == 1);
    }
  }
}

TEST_CASE("number_cycles: every edge is kept, listed as extra, or counted") {
  constexpr std::uint64_t kSeed = 21;
  INFO("seed ", kSeed);
  std::mt19937_64 random(kSeed);
  std::uniform_real_distribution<double> uniform(0.0, 1.0);
  for (int trial = 0; trial < 400; ++trial) {
    CAPTURE(trial);
    // Stretches of clocks of random period, of noise, and silences.
    std::vector<std::int64_t> changes;
    std::int64_t t = 10;
    for (int part = 0; part < 5; ++part) {
      const auto half = static_cast<std::int64_t>(2 + random() % 40);
      const auto count = random() % 300;
      const bool noise = uniform(random) < 0.4;
      for (std::size_t i = 0; i < count; ++i) {
        t += noise ? static_cast<std::int64_t>(1 + random() % 200) : half;
        changes.push_back(t);
      }
      if (uniform(random) < 0.3) t += 5000;
    }
    if (changes.empty()) continue;
    const EdgeStore store = number(changes);
    std::int64_t edges = store.unnumbered_edges;
    for (const Stretch& s : store.stretches) {
      edges += s.rising + s.falling + s.extra;
    }
    CHECK(edges == static_cast<std::int64_t>(changes.size()));
  }
}

TEST_CASE("number_cycles: an extra pulse is seen in captures of any length") {
  for (std::int64_t cycles = 12; cycles <= 80; ++cycles) {
    for (std::int64_t at = 0; at < cycles; at += 3) {
      if (std::max(at - 1, cycles - 2 - at) < 6) continue;
      auto changes = clock40(cycles);
      const std::int64_t t = changes[static_cast<std::size_t>(2 * at)] + 28;
      changes.insert(std::upper_bound(changes.begin(), changes.end(), t),
                     {t, t + 4});
      const EdgeStore store = number(changes);
      CAPTURE(cycles);
      CAPTURE(at);
      REQUIRE(store.stretches.size() == 1);
      // Beyond the last edge of the clock it belongs to none.
      const bool beyond = at + 1 == cycles;
      CHECK(store.stretches[0].extra == (beyond ? 0 : 2));
      CHECK(store.unnumbered_edges == (beyond ? 2 : 0));
      CHECK(store.stretches[0].missing == 0);
    }
  }
}

TEST_CASE("number_cycles: odd cycles at an end are counted within the clock") {
  // What is kept and what is listed lies between the first and the last edge of
  // a stretch; only what parts two stretches may be listed beyond.
  constexpr std::uint64_t kSeed = 31;
  INFO("seed ", kSeed);
  std::mt19937_64 random(kSeed);
  std::normal_distribution<double> jitter(0.0, 0.1);
  std::int64_t unnumbered = 0;
  for (int trial = 0; trial < 600; ++trial) {
    CAPTURE(trial);
    constexpr double kRatios[] = {0.25, 0.5, 0.75, 0.8, 0.9, 1.1,
                                  1.25, 1.5, 1.6,  2.0, 3.0, 4.0};
    std::vector<std::int64_t> changes;
    double t = 1000.0;
    const auto add = [&](double period, std::uint64_t cycles) {
      for (std::uint64_t k = 0; k < cycles; ++k, t += period) {
        changes.push_back(std::llround(t + jitter(random)));
        changes.push_back(std::llround(t + 0.45 * period + jitter(random)));
      }
    };
    const auto odd = [&] {
      const double ratio = kRatios[random() % std::size(kRatios)];
      add(101.0 * ratio, random() % 3 == 0 ? 0 : random() % 20);
    };
    odd();
    add(101.0, 100 + random() % 300);
    odd();
    add(101.0, 100 + random() % 300);
    odd();
    const EdgeStore store = number(changes);
    REQUIRE_FALSE(store.stretches.empty());
    std::int64_t edges = store.unnumbered_edges;
    unnumbered += edges;
    for (const Stretch& s : store.stretches) {
      edges += s.rising + s.falling + s.extra;
      std::int64_t extra = 0;
      for (const Repair& r : s.repairs) {
        if (r.kind == RepairKind::kExtraEdge) extra += r.count;
        const bool within =
            (&s != &store.stretches.front() || r.time >= s.first) &&
            (&s != &store.stretches.back() || r.time <= s.last);
        CHECK(within);
      }
      CHECK(extra == s.extra);
    }
    CHECK(edges == static_cast<std::int64_t>(changes.size()));
  }
  CHECK(unnumbered > 0);
}
