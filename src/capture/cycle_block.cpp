// SPDX-License-Identifier: GPL-3.0-or-later
#include "clockassay/capture/cycle_block.h"

#include <algorithm>
#include <cassert>
#include <cstring>
#include <limits>

namespace clockassay {
namespace {

// Middle of low … high, so that offsets from it are as small as can be.
std::int64_t middle(std::int64_t low, std::int64_t high) {
  return low + (high - low) / 2;
}

template <class Offset>
bool holds(std::int64_t low, std::int64_t high) {
  return low >= std::numeric_limits<Offset>::min() &&
         high <= std::numeric_limits<Offset>::max();
}

std::uint8_t width_for(std::int64_t low, std::int64_t high) {
  if (holds<std::int8_t>(low, high)) return 1;
  if (holds<std::int16_t>(low, high)) return 2;
  if (holds<std::int32_t>(low, high)) return 4;
  return 8;
}

template <class Offset>
void write_offsets(std::span<const std::int64_t> values, std::int64_t base,
                   std::byte* to) {
  for (const std::int64_t value : values) {
    const auto offset = static_cast<Offset>(value - base);
    std::memcpy(to, &offset, sizeof offset);
    to += sizeof offset;
  }
}

template <class Offset>
std::int64_t offset_at(const std::byte* from, std::size_t i) {
  Offset offset;
  std::memcpy(&offset, from + i * sizeof offset, sizeof offset);
  return offset;
}

template <class Offset>
void decode(const CycleBlock& block, DecodedCycles& out) {
  const std::byte* periods = block.offsets;
  const std::byte* highs = block.offsets + block.count * sizeof(Offset);
  std::int64_t rise = 0;
  for (std::size_t i = 0; i < block.count; ++i) {
    out.rise[i] = rise;
    out.fall[i] = rise + block.base_high + offset_at<Offset>(highs, i);
    rise += block.base_period + offset_at<Offset>(periods, i);
  }
}

// Calls action with a value of the integer type of `width` bytes.
template <class Action>
void with_offset_type(std::uint8_t width, const Action& action) {
  switch (width) {
    case 1:
      return action(std::int8_t{});
    case 2:
      return action(std::int16_t{});
    case 4:
      return action(std::int32_t{});
    default:
      assert(width == 8);
      return action(std::int64_t{});
  }
}

}  // namespace

CycleBlock encode_cycles(Ticks first, std::span<const std::int64_t> periods,
                         std::span<const std::int64_t> highs, Arena& arena) {
  assert(!periods.empty() && periods.size() <= kMaxBlockCycles);
  assert(periods.size() == highs.size());
  CycleBlock block;
  block.first = first;
  block.count = static_cast<std::uint32_t>(periods.size());
  const auto [period_min, period_max] = std::ranges::minmax(periods);
  const auto [high_min, high_max] = std::ranges::minmax(highs);
  block.period_min = period_min;
  block.period_max = period_max;
  block.high_min = high_min;
  block.high_max = high_max;
  block.base_period = middle(period_min, period_max);
  block.base_high = middle(high_min, high_max);
  block.width = width_for(
      std::min(period_min - block.base_period, high_min - block.base_high),
      std::max(period_max - block.base_period, high_max - block.base_high));
  std::byte* to = arena.allocate(2 * periods.size() * block.width).data();
  block.offsets = to;
  with_offset_type(block.width, [&](auto offset) {
    using Offset = decltype(offset);
    write_offsets<Offset>(periods, block.base_period, to);
    write_offsets<Offset>(highs, block.base_high,
                          to + periods.size() * sizeof(Offset));
  });
  block.end = first;
  for (const std::int64_t period : periods) {
    block.end = block.end + Ticks(period);
  }
  return block;
}

void decode_cycles(const CycleBlock& block, DecodedCycles& out) {
  out.first = block.first;
  out.count = block.count;
  with_offset_type(block.width,
                   [&](auto offset) { decode<decltype(offset)>(block, out); });
}

void CycleEncoder::add(Ticks rise, Ticks fall, Ticks next_rise) {
  assert(!full());
  assert(rise < fall && fall < next_rise);
  assert(empty() || rise == end_);
  if (empty()) first_ = rise;
  periods_.push_back((next_rise - rise).count());
  highs_.push_back((fall - rise).count());
  end_ = next_rise;
}

CycleBlock CycleEncoder::flush() {
  const CycleBlock block = encode_cycles(first_, periods_, highs_, *arena_);
  periods_.clear();
  highs_.clear();
  return block;
}

}  // namespace clockassay
