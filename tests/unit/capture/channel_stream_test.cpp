// SPDX-License-Identifier: GPL-3.0-or-later
#include "clockassay/capture/channel_stream.h"

#include <doctest/doctest.h>

#include <algorithm>
#include <array>
#include <cstdint>
#include <optional>
#include <random>
#include <vector>

#include "support/run_edges.h"

namespace clockassay {
namespace {

using test::PlainChannel;
using test::PlainRun;
using Events = std::vector<LevelEvent>;

constexpr Level k0 = Level::kLow;
constexpr Level k1 = Level::kHigh;
constexpr Level kX = Level::kUnknown;

LevelEvent at(std::int64_t time, Level level) {
  return {Ticks(time), level};
}

// The events of one channel through the builder and the joiner, cut before
// each of the events whose index is in `cuts`.
PlainChannel joined(const Events& events, std::int64_t end,
                    const std::vector<std::size_t>& cuts = {}) {
  Arena whole;
  ChannelJoiner joiner(whole);
  std::size_t begin = 0;
  const auto piece = [&](std::size_t stop) {
    PieceChannelBuilder builder;
    for (; begin < stop; ++begin) {
      builder.add(events[begin].time, events[begin].level);
    }
    joiner.append(builder.finish());
  };
  for (const std::size_t cut : cuts) piece(cut);
  piece(events.size());
  return test::plain_channel(joiner.finish("c", Ticks(end)));
}

// The settled view written down directly, one stamp after the other.
PlainChannel reference(const Events& events, std::int64_t end) {
  PlainChannel out;
  out.name = std::string("c");
  std::optional<PlainRun> run;
  Level level = kX;
  std::int64_t unknown_from = 0;
  for (std::size_t i = 0; i < events.size();) {
    const Ticks time = events[i].time;
    Level settled = kX;
    Events known;
    if (level != kX) known.push_back(at(0, level));
    for (; i < events.size() && events[i].time == time; ++i) {
      settled = events[i].level;
      if (settled != kX && (known.empty() || known.back().level != settled)) {
        known.push_back(events[i]);
      }
    }
    if (known.size() > 1) {
      out.zero_width_pulses +=
          static_cast<std::int64_t>((known.size() - 1) / 2);
    }
    if (settled == level) continue;
    if (level == kX) {
      if (!out.runs.empty()) ++out.unknown_stretches;
      run = PlainRun{time.count(), 0, {}};
    } else if (settled == kX) {
      run->known_to = time.count();
      unknown_from = time.count();
      out.runs.push_back(*run);
      run.reset();
    } else {
      run->edges.push_back({time, settled});
    }
    level = settled;
  }
  if (run) {
    run->known_to = end;
    out.runs.push_back(*run);
  } else if (!out.runs.empty() && unknown_from < end) {
    ++out.unknown_stretches;
  }
  return out;
}

Events random_events(std::mt19937_64& random, std::size_t count) {
  // Stamps often repeat, levels often too, x is not rare: every kind of seam.
  std::uniform_int_distribution<int> step(0, 2);
  std::uniform_int_distribution<int> pick(0, 9);
  Events events;
  std::int64_t time = 5;
  for (std::size_t i = 0; i < count; ++i) {
    const int p = pick(random);
    events.push_back(at(time, p == 0 ? kX : p % 2 == 0 ? k0 : k1));
    time += step(random);
  }
  return events;
}

TEST_CASE("channel stream: an initial level is no edge") {
  const PlainChannel c = joined({at(0, k1), at(10, k0), at(20, k1)}, 30);
  REQUIRE(c.runs.size() == 1);
  CHECK(c.runs[0] == PlainRun{0, 30, {at(10, k0), at(20, k1)}});
}

TEST_CASE("channel stream: repeating the present level is no edge") {
  const PlainChannel c =
      joined({at(0, k0), at(5, k0), at(10, k1), at(12, k1), at(20, k0)}, 20);
  REQUIRE(c.runs.size() == 1);
  CHECK(c.runs[0] == PlainRun{0, 20, {at(10, k1), at(20, k0)}});
  CHECK(c.zero_width_pulses == 0);
}

TEST_CASE(
    "channel stream: of several statements at one stamp the last counts") {
  const PlainChannel c = joined({at(0, k0), at(10, k1), at(10, k0), at(10, k1),
                                 at(20, k0), at(20, k1), at(30, k0)},
                                30);
  REQUIRE(c.runs.size() == 1);
  CHECK(c.runs[0] == PlainRun{0, 30, {at(10, k1), at(30, k0)}});
  // At 10 high was reached, left and resumed; at 20 it was left and resumed.
  CHECK(c.zero_width_pulses == 2);
}

TEST_CASE("channel stream: an unknown level ends the run") {
  const PlainChannel c = joined({at(0, k0), at(10, kX), at(15, k1)}, 40);
  REQUIRE(c.runs.size() == 2);
  CHECK(c.runs[0] == PlainRun{0, 10, {}});
  CHECK(c.runs[1] == PlainRun{15, 40, {}});
  CHECK(c.unknown_stretches == 1);
}

TEST_CASE("channel stream: an unknown level of no duration is nothing") {
  const PlainChannel c = joined({at(0, k0), at(10, kX), at(10, k1)}, 40);
  REQUIRE(c.runs.size() == 1);
  CHECK(c.runs[0] == PlainRun{0, 40, {at(10, k1)}});
  CHECK(c.unknown_stretches == 0);
  CHECK(c.zero_width_pulses == 0);
}

TEST_CASE(
    "channel stream: unknown before the first level is not a stretch, "
    "unknown until the end is") {
  CHECK(joined({at(0, kX), at(10, k1)}, 40).unknown_stretches == 0);
  CHECK(joined({at(0, k1), at(10, kX)}, 40).unknown_stretches == 1);
  CHECK(joined({at(0, k1), at(10, kX)}, 10).unknown_stretches == 0);
  CHECK(joined({at(0, kX)}, 40).runs.empty());
  CHECK(joined({}, 40).runs.empty());
}

TEST_CASE("channel stream: blocks follow each other without a hole") {
  Events events{at(0, k0)};
  const std::int64_t cycles = 3 * static_cast<std::int64_t>(kMaxBlockCycles);
  for (std::int64_t i = 0; i < cycles; ++i) {
    events.push_back(at(10 + 10 * i, k1));
    events.push_back(at(14 + 10 * i, k0));
  }
  const PlainChannel whole = joined(events, 10 * cycles + 20);
  REQUIRE(whole.runs.size() == 1);
  CHECK(whole.runs[0].edges == Events(events.begin() + 1, events.end()));
  Arena arena;
  ChannelJoiner joiner(arena);
  PieceChannelBuilder builder;
  for (const LevelEvent& e : events) builder.add(e.time, e.level);
  joiner.append(builder.finish());
  const ChannelRecord record = joiner.finish("c", Ticks(10 * cycles + 20));
  const EdgeRun& run = record.runs.at(0);
  REQUIRE(run.blocks.size() >= 3);
  for (std::size_t i = 0; i + 1 < run.blocks.size(); ++i) {
    CHECK(run.blocks[i].end == run.blocks[i + 1].first);
  }
  REQUIRE(run.last_rise);
  CHECK(run.blocks.back().end == *run.last_rise);
}

TEST_CASE("channel stream: no cut changes the result") {
  constexpr unsigned kSeed = 7;
  for (unsigned round = 0; round < 300; ++round) {
    std::mt19937_64 random(kSeed + round);
    CAPTURE(kSeed + round);
    const Events events = random_events(random, 40);
    const std::int64_t end = events.back().time.count() + (round % 2);
    const PlainChannel expected = reference(events, end);
    CHECK(joined(events, end) == expected);
    for (std::size_t cut = 0; cut <= events.size(); ++cut) {
      CAPTURE(cut);
      REQUIRE(joined(events, end, {cut}) == expected);
    }
    std::vector<std::size_t> everywhere;
    for (std::size_t i = 1; i < events.size(); ++i) everywhere.push_back(i);
    REQUIRE(joined(events, end, everywhere) == expected);
    std::uniform_int_distribution<std::size_t> place(0, events.size());
    for (int i = 0; i < 20; ++i) {
      std::size_t a = place(random);
      std::size_t b = place(random);
      if (a > b) std::swap(a, b);
      REQUIRE(joined(events, end, {a, b}) == expected);
    }
  }
}

TEST_CASE("channel stream: no cut changes long runs of cycles") {
  constexpr unsigned kSeed = 99;
  std::mt19937_64 random(kSeed);
  CAPTURE(kSeed);
  std::uniform_int_distribution<std::int64_t> step(1, 300);
  Events events;
  std::int64_t time = 0;
  for (std::size_t i = 0; i < 10000; ++i) {
    events.push_back(at(time, i % 2 == 0 ? k0 : k1));
    time += step(random);
  }
  const PlainChannel expected = reference(events, time);
  std::uniform_int_distribution<std::size_t> place(0, events.size());
  for (int i = 0; i < 50; ++i) {
    const std::size_t cut = place(random);
    CAPTURE(cut);
    REQUIRE(joined(events, time, {cut}) == expected);
  }
}

// Adds the events one by one, or those that alternate at once.
PieceChannel built(const Events& events, bool at_once) {
  PieceChannelBuilder builder;
  for (std::size_t i = 0; i < events.size();) {
    std::size_t end = i + 1;
    const auto goes_on = [&] {
      return end < events.size() && events[end - 1].level != kX &&
             events[end].level != kX &&
             events[end].level != events[end - 1].level &&
             events[end].time > events[end - 1].time;
    };
    const bool later = i == 0 || events[i].time > events[i - 1].time;
    if (!at_once || !later || events[i].level == kX || !goes_on()) {
      builder.add(events[i].time, events[i].level);
      ++i;
      continue;
    }
    while (goes_on()) ++end;
    std::vector<std::int64_t> odd, even;
    for (std::size_t j = i; j < end; ++j) {
      ((j - i) % 2 == 0 ? odd : even).push_back(events[j].time.count());
    }
    builder.add_alternating(events[i].level, odd, even);
    i = end;
  }
  return builder.finish();
}

// Adds the events one by one, or those of known levels at once.
PieceChannel built_of_many(const Events& events) {
  PieceChannelBuilder builder;
  for (std::size_t i = 0; i < events.size();) {
    std::vector<std::int64_t> times;
    std::vector<std::uint8_t> high;
    for (; i < events.size() && events[i].level != kX; ++i) {
      times.push_back(events[i].time.count());
      high.push_back(events[i].level == k1 ? 1 : 0);
    }
    builder.add_many(times, high);
    if (i < events.size()) builder.add(events[i].time, events[i].level);
    ++i;
  }
  return builder.finish();
}

// How many cycles there are.
std::size_t check_same(const PieceChannel& one, const PieceChannel& all) {
  std::size_t cycles = 0;
  REQUIRE(one.items.size() == all.items.size());
  CHECK(one.zero_width_pulses == all.zero_width_pulses);
  for (std::size_t i = 0; i < one.items.size(); ++i) {
    REQUIRE(one.items[i].index() == all.items[i].index());
    if (const auto* event = std::get_if<LevelEvent>(&one.items[i])) {
      CHECK(*event == std::get<LevelEvent>(all.items[i]));
      continue;
    }
    const auto& a = std::get<PieceCycles>(one.items[i]);
    const auto& b = std::get<PieceCycles>(all.items[i]);
    cycles += a.count;
    CHECK(a.rise == b.rise);
    CHECK(a.fall == b.fall);
    CHECK(a.count == b.count);
  }
  CHECK(one.rises == all.rises);
  CHECK(one.falls == all.falls);
  return cycles;
}

TEST_CASE("PieceChannelBuilder: alternating levels at once or one by one") {
  constexpr unsigned kSeed = 77;
  CAPTURE(kSeed);
  std::mt19937_64 random(kSeed);
  std::size_t cycles = 0;
  for (int trial = 0; trial < 300; ++trial) {
    CAPTURE(trial);
    // Of a hundred statements, so many are no edge; runs of up to 5000 are.
    const std::size_t count = trial % 10 == 0 ? 20000 : 60;
    const std::uint64_t odd_ones = trial % 10 == 0 ? 1 : random() % 30;
    Events events;
    std::int64_t time = 0;
    Level level = random() % 2 == 0 ? k0 : k1;
    for (std::size_t i = 0; i < count; ++i) {
      const bool odd_one = random() % (trial % 10 == 0 ? 2000 : 100) < odd_ones;
      if (odd_one) {
        level = std::array{k0, k1, kX}[random() % 3];
        if (random() % 2 == 0) time += 3;
      } else {
        level = level == k1 ? k0 : k1;
        time += 1 + static_cast<std::int64_t>(random() % 9);
      }
      events.push_back(at(time, level));
    }
    const PieceChannel one = built(events, false);
    cycles += check_same(one, built(events, true));
    check_same(one, built_of_many(events));
  }
  CHECK(cycles > 100'000);
}

}  // namespace
}  // namespace clockassay
