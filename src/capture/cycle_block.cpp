// SPDX-License-Identifier: GPL-3.0-or-later
#include "clockassay/capture/cycle_block.h"

#include <algorithm>
#include <cassert>
#include <cstdlib>
#include <limits>

#include "base/simd_level.h"

namespace clockassay {
namespace {

/// Blocks shorter than this [ticks] are worked on in 32 bits.
constexpr std::int64_t kNarrowSpan = std::int64_t{1} << 31;

/// What a line leaves of the edges, before it is written.
template <class Number>
struct Unpacked {
  std::array<Number, kMaxBlockCycles + 1> rise;  // from the first edge
  std::array<Number, kMaxBlockCycles> high;
  std::array<Number, kMaxBlockCycles> residual;
};

template <class Number>
struct Range {
  Number low = std::numeric_limits<Number>::max();
  Number high = std::numeric_limits<Number>::min();
  CLOCKASSAY_KERNEL void add(Number value) {
    low = value < low ? value : low;
    high = value > high ? value : high;
  }
  // Offsets from it are as small as can be.
  CLOCKASSAY_KERNEL Number middle() const {
    const std::uint64_t width =
        static_cast<std::uint64_t>(high) - static_cast<std::uint64_t>(low);
    return static_cast<Number>(low + static_cast<Number>(width / 2));
  }
};

template <class Offset, class Number>
bool holds(const Range<Number>& range, Number middle) {
  return range.low - middle >= std::numeric_limits<Offset>::min() &&
         range.high - middle <= std::numeric_limits<Offset>::max();
}

template <class Number>
std::uint8_t width_for(const Range<Number>& a, Number a_middle,
                       const Range<Number>& b, Number b_middle) {
  if (holds<std::int8_t>(a, a_middle) && holds<std::int8_t>(b, b_middle)) {
    return 1;
  }
  if (holds<std::int16_t>(a, a_middle) && holds<std::int16_t>(b, b_middle)) {
    return 2;
  }
  if (sizeof(Number) <= 4) return 4;
  if (holds<std::int32_t>(a, a_middle) && holds<std::int32_t>(b, b_middle)) {
    return 4;
  }
  return 8;
}

template <class Offset, class Number>
CLOCKASSAY_KERNEL void write_offsets(const Number* values, Number middle,
                                     std::size_t count, std::byte* to) {
  auto* out = reinterpret_cast<Offset*>(to);
  for (std::size_t i = 0; i < count; ++i) {
    out[i] = static_cast<Offset>(values[i] - middle);
  }
}

template <class Offset, class Number>
CLOCKASSAY_KERNEL void write_both(const Unpacked<Number>& cycles,
                                  const CycleBlock& block, std::byte* to) {
  write_offsets<Offset>(cycles.residual.data(),
                        static_cast<Number>(block.base_rise), block.count, to);
  write_offsets<Offset>(cycles.high.data(),
                        static_cast<Number>(block.base_high), block.count,
                        to + block.count * sizeof(Offset));
}

template <class Number>
CLOCKASSAY_KERNEL void encode(std::span<const std::int64_t> rises,
                              std::span<const std::int64_t> falls, Arena& arena,
                              CycleBlock& block) {
  const std::size_t n = falls.size();
  const std::int64_t first = rises[0];
  Unpacked<Number> cycles;
  for (std::size_t i = 0; i <= n; ++i) {
    cycles.rise[i] = static_cast<Number>(rises[i] - first);
  }
  Range<Number> period, high, low, residual;
  for (std::size_t i = 0; i < n; ++i) {
    const Number p = cycles.rise[i + 1] - cycles.rise[i];
    const auto h = static_cast<Number>(falls[i] - rises[i]);
    cycles.high[i] = h;
    period.add(p);
    high.add(h);
    low.add(p - h);
  }
  const auto cycle_count = static_cast<Number>(n);
  const Number base = cycles.rise[n] / cycle_count;
  const auto fraction =
      (static_cast<std::uint32_t>(cycles.rise[n] % cycle_count)
       << kCycleFractionBits) /
      static_cast<std::uint32_t>(n);
  const auto count = static_cast<std::int32_t>(n);
  // Sums instead of products: the line's ticks, and in 2^-20 what is left.
  Number line = 0;
  std::uint32_t place = 0;
  for (std::int32_t i = 0; i < count; ++i) {
    const Number r = cycles.rise[static_cast<std::size_t>(i)] - line -
                     static_cast<Number>(place >> kCycleFractionBits);
    cycles.residual[static_cast<std::size_t>(i)] = r;
    residual.add(r);
    line += base;
    place += fraction;
  }
  block.base_period = base;
  block.fraction = fraction;
  block.base_rise = residual.middle();
  block.base_high = high.middle();
  block.period_min = period.low;
  block.period_max = period.high;
  block.high_min = high.low;
  block.high_max = high.high;
  block.low_min = low.low;
  block.low_max = low.high;
  block.width = width_for(residual, residual.middle(), high, high.middle());
  std::byte* to = arena.allocate(2 * n * block.width).data();
  block.offsets = to;
  switch (block.width) {
    case 1:
      return write_both<std::int8_t>(cycles, block, to);
    case 2:
      return write_both<std::int16_t>(cycles, block, to);
    case 4:
      return write_both<std::int32_t>(cycles, block, to);
    default:
      return write_both<std::int64_t>(cycles, block, to);
  }
}

using Edges = std::span<const std::int64_t>;

CLOCKASSAY_KERNEL void encode_narrow_any(Edges rises, Edges falls, Arena& arena,
                                         CycleBlock& block) {
  encode<std::int32_t>(rises, falls, arena, block);
}

CLOCKASSAY_AT_LEVEL(void, encode_narrow,
                    (Edges rises, Edges falls, Arena& arena, CycleBlock& block),
                    (rises, falls, arena, block))

void encode_wide(std::span<const std::int64_t> rises,
                 std::span<const std::int64_t> falls, Arena& arena,
                 CycleBlock& block) {
  encode<std::int64_t>(rises, falls, arena, block);
}

template <class Offset>
CLOCKASSAY_KERNEL void decode_offsets(const CycleBlock& block,
                                      DecodedCycles& out) {
  const auto* residuals = reinterpret_cast<const Offset*>(block.offsets);
  const Offset* highs = residuals + block.count;
  const std::int64_t base = block.base_period;
  const std::int64_t base_rise = block.base_rise;
  const std::int64_t base_high = block.base_high;
  const std::uint32_t fraction = block.fraction;
  for (std::uint32_t i = 0; i < block.count; ++i) {
    const std::int64_t rise = i * base +
                              ((i * fraction) >> kCycleFractionBits) +
                              base_rise + residuals[i];
    out.rise[i] = rise;
    out.fall[i] = rise + base_high + highs[i];
  }
}

CLOCKASSAY_KERNEL void decode_any(const CycleBlock& block, DecodedCycles& out) {
  switch (block.width) {
    case 1:
      return decode_offsets<std::int8_t>(block, out);
    case 2:
      return decode_offsets<std::int16_t>(block, out);
    case 4:
      return decode_offsets<std::int32_t>(block, out);
    default:
      assert(block.width == 8);
      return decode_offsets<std::int64_t>(block, out);
  }
}

CLOCKASSAY_AT_LEVEL(void, decode, (const CycleBlock& block, DecodedCycles& out),
                    (block, out))

template <class Offset>
CLOCKASSAY_KERNEL void residuals_of(const CycleBlock& block, std::int32_t step,
                                    CycleResiduals& out) {
  const auto* rises = reinterpret_cast<const Offset*>(block.offsets);
  const Offset* highs = rises + block.count;
  const auto base = static_cast<std::int32_t>(block.base_rise);
  const auto count = static_cast<std::int32_t>(block.count);
  const std::uint32_t fraction = block.fraction;
  // Sums instead of products: the line's ticks, and in 2^-20 what is left.
  std::int32_t line = base;
  std::uint32_t place = 0;
  for (std::int32_t i = 0; i < count; ++i) {
    const std::int32_t rise =
        line + static_cast<std::int32_t>(place >> kCycleFractionBits) +
        rises[i];
    out.rise[static_cast<std::size_t>(i)] = rise;
    out.fall[static_cast<std::size_t>(i)] = rise + highs[i];
    line += step;
    place += fraction;
  }
}

CLOCKASSAY_KERNEL void residuals_any(const CycleBlock& block, std::int32_t step,
                                     CycleResiduals& out) {
  if (block.width == 1) return residuals_of<std::int8_t>(block, step, out);
  residuals_of<std::int16_t>(block, step, out);
}

CLOCKASSAY_AT_LEVEL(void, residuals,
                    (const CycleBlock& block, std::int32_t step,
                     CycleResiduals& out),
                    (block, step, out))

/// Sums over the edges of a block that is encoded.
void add_sums(CycleBlock& block) {
  CycleResiduals residuals;
  if (!decode_residuals(block, block.base_period, residuals)) return;
  const std::span<const std::int32_t> rise(residuals.rise.data(), block.count);
  const std::span<const std::int32_t> fall(residuals.fall.data(), block.count);
  block.sums = {sum_offsets(rise), sum_offsets(fall), sum_steps(rise)};
  block.has_sums = true;
}

}  // namespace

CycleBlock encode_cycles(std::span<const std::int64_t> rises,
                         std::span<const std::int64_t> falls, Arena& arena) {
  assert(!falls.empty() && falls.size() <= kMaxBlockCycles);
  assert(rises.size() == falls.size() + 1);
  CycleBlock block;
  block.first = Ticks(rises.front());
  block.end = Ticks(rises.back());
  block.count = static_cast<std::uint32_t>(falls.size());
  if (rises.back() - rises.front() >= kNarrowSpan) {
    encode_wide(rises, falls, arena, block);
  } else {
    encode_narrow(rises, falls, arena, block);
  }
  assert(block.high_min > 0 && block.low_min > 0);
  add_sums(block);
  return block;
}

void decode_cycles(const CycleBlock& block, DecodedCycles& out) {
  out.first = block.first;
  out.count = block.count;
  decode(block, out);
}

bool decode_residuals(const CycleBlock& block, std::int64_t period,
                      CycleResiduals& out) {
  // 2048 steps, the fraction's ticks and two offsets of 16 bits stay below the
  // limit.
  constexpr std::int64_t kMostStep = std::int64_t{1} << 12;
  constexpr std::int64_t kMostBase = std::int64_t{1} << 20;
  static_assert(kMostStep * kMaxBlockCycles + kMaxBlockCycles + kMostBase +
                    2 * (std::int64_t{1} << 15) <
                kNarrowResidual);
  std::int64_t step = 0;
  if (__builtin_sub_overflow(block.base_period, period, &step)) return false;
  const bool narrow = block.width <= 2 && std::abs(step) <= kMostStep &&
                      std::abs(block.base_rise) <= kMostBase;
  if (!narrow) return false;
  out.count = block.count;
  out.high = block.base_high;
  residuals(block, static_cast<std::int32_t>(step), out);
  return true;
}

CycleEdges cycle_edges(const CycleBlock& block, std::uint32_t i) {
  assert(i < block.count);
  const auto offset = [&](std::size_t at) -> std::int64_t {
    switch (block.width) {
      case 1:
        return reinterpret_cast<const std::int8_t*>(block.offsets)[at];
      case 2:
        return reinterpret_cast<const std::int16_t*>(block.offsets)[at];
      case 4:
        return reinterpret_cast<const std::int32_t*>(block.offsets)[at];
      default:
        return reinterpret_cast<const std::int64_t*>(block.offsets)[at];
    }
  };
  const std::int64_t rise = i * block.base_period +
                            ((i * block.fraction) >> kCycleFractionBits) +
                            block.base_rise + offset(i);
  return {rise, rise + block.base_high + offset(std::size_t{block.count} + i)};
}

void CycleEncoder::add(Ticks rise, Ticks fall, Ticks next_rise) {
  assert(!full());
  assert(rise < fall && fall < next_rise);
  assert(empty() || rise.count() == rises_.back());
  if (empty()) rises_.push_back(rise.count());
  falls_.push_back(fall.count());
  rises_.push_back(next_rise.count());
}

void CycleEncoder::add(Ticks rise, std::span<const std::int64_t> falls,
                       std::span<const std::int64_t> next_rises) {
  assert(falls.size() <= room() && falls.size() == next_rises.size());
  assert(empty() || rise.count() == rises_.back());
  if (falls.empty()) return;
  if (empty()) rises_.push_back(rise.count());
  falls_.insert(falls_.end(), falls.begin(), falls.end());
  rises_.insert(rises_.end(), next_rises.begin(), next_rises.end());
}

CycleBlock CycleEncoder::flush() {
  const CycleBlock block = encode_cycles(rises_, falls_, *arena_);
  rises_.clear();
  falls_.clear();
  return block;
}

}  // namespace clockassay
