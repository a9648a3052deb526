// SPDX-License-Identifier: GPL-3.0-or-later
#include "clockassay/capture/channel_stream.h"

#include <algorithm>
#include <array>
#include <cassert>
#include <cstddef>
#include <utility>

namespace clockassay {
namespace {

// For that many edges more. Where many come at once, more will: copying them
// again and again costs more than reading them.
void make_room(std::vector<std::int64_t>& edges, std::size_t more) {
  constexpr std::size_t kMany = 256;  // chosen
  constexpr std::size_t kTimes = 6;   // chosen: the most a piece has of runs
  if (more < kMany || edges.capacity() - edges.size() >= more) return;
  edges.reserve(std::max(2 * edges.size(), edges.size() + kTimes * more));
}

}  // namespace

void PieceChannelBuilder::add(Ticks time, Level level) {
  if (group_.empty()) {
    group_.start(time);
  } else if (time != group_.time()) {
    assert(time > group_.time());
    close_group();
    group_.start(time);
  }
  group_.add(level);
}

void PieceChannelBuilder::add_alternating(Level first,
                                          std::span<const std::int64_t> odd,
                                          std::span<const std::int64_t> even) {
  assert(odd.size() == even.size() || odd.size() == even.size() + 1);
  const Level second = opposite(first);
  const std::size_t count = odd.size() + even.size();
  const auto one = [&](std::size_t i) {
    const bool is_odd = i % 2 == 0;
    add(Ticks((is_odd ? odd : even)[i / 2]), is_odd ? first : second);
  };
  // One by one until the level is settled and a cycle is under way, and the
  // last, which others may follow at its stamp.
  std::size_t i = 0;
  while (i < count && (i < 2 || !rise_ || fall_ || in_first_group_)) {
    one(i++);
    if (i == count) return;
    close_group();
    group_ = StampGroup();
  }
  const auto& falls = first == Level::kHigh ? even : odd;
  const auto& rises = first == Level::kHigh ? odd : even;
  const std::size_t fall = i / 2;
  const std::size_t next_rise = (i + 1) / 2;
  const std::size_t cycles = (count - 1 - i) / 2;
  add_cycles(falls.subspan(fall, cycles), rises.subspan(next_rise, cycles));
  for (i += 2 * cycles; i < count; ++i) one(i);
}

void PieceChannelBuilder::add_many(std::span<const std::int64_t> times,
                                   std::span<const std::uint8_t> high) {
  assert(times.size() == high.size());
  while (!times.empty()) {
    std::size_t n = add_turns(times, high);
    if (n == 0) {
      add(Ticks(times[0]), high[0] != 0 ? Level::kHigh : Level::kLow);
      n = 1;
    }
    times = times.subspan(n);
    high = high.subspan(n);
  }
}

// Adds what takes turns from the beginning on, if it is worth it; how many.
std::size_t PieceChannelBuilder::add_turns(std::span<const std::int64_t> times,
                                           std::span<const std::uint8_t> high) {
  constexpr std::size_t kLeast = 8;  // chosen: worth the arrays
  constexpr std::size_t kMost = 1024;
  if (!group_.empty() && times[0] <= group_.time().count()) return 0;
  const std::size_t most = std::min(times.size(), kMost);
  std::size_t n = 1;
  while (n < most && times[n] > times[n - 1] && high[n] != high[n - 1]) ++n;
  if (n < kLeast) return 0;
  std::array<std::int64_t, kMost / 2> odd, even;
  for (std::size_t i = 0; i < n / 2; ++i) {
    odd[i] = times[2 * i];
    even[i] = times[2 * i + 1];
  }
  if (n % 2 != 0) odd[n / 2] = times[n - 1];
  add_alternating(high[0] != 0 ? Level::kHigh : Level::kLow,
                  {odd.data(), (n + 1) / 2}, {even.data(), n / 2});
  return n;
}

// Whole cycles after the rising edge under way, which the last of next_rises
// becomes.
void PieceChannelBuilder::add_cycles(std::span<const std::int64_t> falls,
                                     std::span<const std::int64_t> next_rises) {
  assert(rise_ && !fall_ && falls.size() == next_rises.size());
  if (falls.empty()) return;
  auto& rises = piece_.rises;
  if (cycles_.count == 0) {
    cycles_.rise = rises.size();
    cycles_.fall = piece_.falls.size();
    rises.push_back(rise_->count());
  }
  make_room(piece_.falls, falls.size());
  make_room(rises, falls.size() + 1);
  rises.insert(rises.end(), next_rises.begin(), next_rises.end());
  piece_.falls.insert(piece_.falls.end(), falls.begin(), falls.end());
  cycles_.count += falls.size();
  rise_ = Ticks(next_rises.back());
}

PieceChannel PieceChannelBuilder::finish() {
  flush_cycles();
  if (!group_.empty()) emit_group();
  return std::move(piece_);
}

void PieceChannelBuilder::close_group() {
  const auto [level, pulses] = group_.settle(level_);
  if (in_first_group_) {
    emit_group();
    level_ = level;
    in_first_group_ = false;
    return;
  }
  piece_.zero_width_pulses += pulses;
  if (level != level_) change_level(group_.time(), level);
}

void PieceChannelBuilder::change_level(Ticks time, Level level) {
  const Level before = std::exchange(level_, level);
  if (before == Level::kUnknown || level == Level::kUnknown) {
    flush_cycles();
    piece_.items.emplace_back(LevelEvent{time, level});
  } else if (level == Level::kHigh) {
    const auto fall = std::exchange(fall_, std::nullopt);
    if (rise_ && fall) {
      const std::int64_t fall_at = fall->count(), end = time.count();
      add_cycles({&fall_at, 1}, {&end, 1});
    }
    rise_ = time;
  } else if (rise_) {
    fall_ = time;
  } else {
    // The rise before it, if it was one, is a raw statement.
    piece_.items.emplace_back(LevelEvent{time, level});
  }
}

// Writes what is gathered, so that statements may follow.
void PieceChannelBuilder::flush_cycles() {
  if (cycles_.count > 0) piece_.items.emplace_back(cycles_);
  cycles_ = PieceCycles();
  if (rise_) piece_.items.emplace_back(LevelEvent{*rise_, Level::kHigh});
  if (fall_) piece_.items.emplace_back(LevelEvent{*fall_, Level::kLow});
  rise_.reset();
  fall_.reset();
}

void PieceChannelBuilder::emit_group() {
  const Ticks time = group_.time();
  const Level first = group_.first_known();
  const Level last = group_.last_known();
  if (first != Level::kUnknown)
    piece_.items.emplace_back(LevelEvent{time, first});
  if (last != first) piece_.items.emplace_back(LevelEvent{time, last});
  if (group_.ends_unknown()) {
    piece_.items.emplace_back(LevelEvent{time, Level::kUnknown});
  }
  piece_.zero_width_pulses += group_.zero_width_pulses();
}

ChannelJoiner::ChannelJoiner(Arena& arena) : arena_(&arena), encoder_(arena) {}

void ChannelJoiner::append(const PieceChannel& piece) {
  record_.zero_width_pulses += piece.zero_width_pulses;
  for (const auto& item : piece.items) {
    if (const auto* cycles = std::get_if<PieceCycles>(&item)) {
      add(piece, *cycles);
    } else {
      add(std::get<LevelEvent>(item));
    }
  }
}

ChannelRecord ChannelJoiner::finish(std::string name, Ticks end) {
  close_group();
  if (level_ != Level::kUnknown) {
    end_run(end);
  } else if (!record_.runs.empty() && record_.runs.back().known_to < end) {
    ++record_.unknown_stretches;
  }
  record_.name = std::move(name);
  return std::move(record_);
}

void ChannelJoiner::add(const LevelEvent& event) {
  if (group_.empty() || event.time != group_.time()) {
    close_group();
    group_.start(event.time);
  }
  group_.add(event.level);
}

void ChannelJoiner::add(const PieceChannel& piece, const PieceCycles& cycles) {
  close_group();
  group_ = StampGroup();
  assert(level_ == Level::kLow);
  const auto rises =
      std::span(piece.rises).subspan(cycles.rise, cycles.count + 1);
  const auto falls = std::span(piece.falls).subspan(cycles.fall, cycles.count);
  rise(Ticks(rises.front()));
  rise_.reset();  // it is the first cycle's own
  for (std::size_t at = 0; at < cycles.count;) {
    const std::size_t n = std::min(cycles.count - at, encoder_.room());
    const auto own_rises = rises.subspan(at, n + 1);
    const auto own_falls = falls.subspan(at, n);
    if (n == kMaxBlockCycles) {
      run_.blocks.push_back(encode_cycles(own_rises, own_falls, *arena_));
    } else {
      encoder_.add(Ticks(own_rises.front()), own_falls, own_rises.subspan(1));
      if (encoder_.full()) flush_cycles();
    }
    at += n;
  }
}

void ChannelJoiner::close_group() {
  if (group_.empty()) return;
  const auto [level, pulses] = group_.settle(level_);
  record_.zero_width_pulses += pulses;
  if (level != level_) change_level(group_.time(), level);
}

void ChannelJoiner::change_level(Ticks time, Level level) {
  const Level before = std::exchange(level_, level);
  if (before == Level::kUnknown) {
    if (!record_.runs.empty()) ++record_.unknown_stretches;
    run_ = EdgeRun();
    run_.known_from = time;
  } else if (level == Level::kUnknown) {
    end_run(time);
  } else if (level == Level::kHigh) {
    rise(time);
  } else {
    fall(time);
  }
}

void ChannelJoiner::rise(Ticks time) {
  if (rise_ && fall_) encoder_.add(*rise_, *fall_, time);
  if (encoder_.full()) flush_cycles();
  rise_ = time;
  fall_.reset();
}

void ChannelJoiner::fall(Ticks time) {
  if (rise_) {
    fall_ = time;
  } else {
    assert(run_.blocks.empty() && !run_.leading_fall);
    run_.leading_fall = time;
  }
}

void ChannelJoiner::flush_cycles() {
  if (!encoder_.empty()) run_.blocks.push_back(encoder_.flush());
}

void ChannelJoiner::end_run(Ticks time) {
  flush_cycles();
  run_.known_to = time;
  run_.last_rise = std::exchange(rise_, std::nullopt);
  run_.trailing_fall = std::exchange(fall_, std::nullopt);
  record_.runs.push_back(std::move(run_));
}

}  // namespace clockassay
