// SPDX-License-Identifier: GPL-3.0-or-later
#include "clockassay/capture/offset_sums.h"

#include <algorithm>
#include <cassert>
#include <cstddef>
#include <limits>
#include <type_traits>

#include "base/simd_level.h"
#include "clockassay/capture/cycle_block.h"

namespace clockassay {
namespace {

/// Points summed in 32 bits before they go on in 64, or looked at together.
constexpr std::size_t kChunk = 64;
/// Offsets within less than this have room there: a difference of differences
/// is at most 2 (2^12 - 1), and 64 of its squares add up to less than 2^32.
constexpr std::int32_t kSmall = std::int32_t{1} << 12;

using Offsets = std::span<const std::int32_t>;

struct Extent {
  std::int32_t low = std::numeric_limits<std::int32_t>::max();
  std::int32_t high = std::numeric_limits<std::int32_t>::min();
};

CLOCKASSAY_KERNEL Extent extent_of(Offsets offset) {
  Extent e;
  for (const std::int32_t y : offset) {
    e.low = y < e.low ? y : e.low;
    e.high = y > e.high ? y : e.high;
  }
  return e;
}

bool is_small(const Extent& e) {
  return std::int64_t{e.high} - e.low < kSmall;
}

/// Sums of the points (i, y[i] - base).
struct PointSums {
  std::int64_t y = 0;
  std::int64_t iy = 0;
  std::int64_t yy = 0;
};

CLOCKASSAY_KERNEL void add_points(const std::int32_t* y, std::int32_t base,
                                  std::size_t at, std::size_t count,
                                  PointSums& sums) {
  std::int32_t sum = 0, moment = 0;
  std::uint32_t squares = 0;
  for (std::size_t j = 0; j < count; ++j) {
    const std::int32_t v = y[at + j] - base;
    sum += v;
    moment += static_cast<std::int32_t>(j) * v;
    squares += static_cast<std::uint32_t>(v * v);
  }
  sums.y += sum;
  sums.iy += static_cast<std::int64_t>(at) * sum + moment;
  sums.yy += squares;
}

CLOCKASSAY_KERNEL PointSums sum_small(Offsets offset) {
  PointSums sums;
  const std::int32_t base = offset[0];
  std::size_t at = 0;
  for (; at + kChunk <= offset.size(); at += kChunk) {
    add_points(offset.data(), base, at, kChunk, sums);
  }
  add_points(offset.data(), base, at, offset.size() - at, sums);
  return sums;
}

CLOCKASSAY_KERNEL PointSums sum_large(Offsets offset) {
  PointSums sums;
  for (std::size_t i = 0; i < offset.size(); ++i) {
    const std::int64_t y = offset[i];
    sums.y += y;
    sums.iy += static_cast<std::int64_t>(i) * y;
    sums.yy += y * y;
  }
  return sums;
}

CLOCKASSAY_KERNEL OffsetSums sum_any(Offsets offset) {
  const Extent extent = extent_of(offset);
  OffsetSums sums;
  if (is_small(extent)) {
    const PointSums points = sum_small(offset);
    const auto n = static_cast<std::int64_t>(offset.size());
    const std::int64_t base = offset[0];
    sums.y = points.y + n * base;
    sums.iy = points.iy + n * (n - 1) / 2 * base;
    sums.yy = points.yy + 2 * base * points.y + n * base * base;
  } else {
    const PointSums points = sum_large(offset);
    sums.y = points.y;
    sums.iy = points.iy;
    sums.yy = points.yy;
  }
  sums.low = extent.low;
  sums.high = extent.high;
  return sums;
}

CLOCKASSAY_AT_LEVEL(OffsetSums, sum, (Offsets offset), (offset))

/// Squares and extremes of steps, and of differences of neighbouring steps.
struct StepParts {
  std::uint64_t squares = 0;
  std::uint64_t pair_squares = 0;
  Extent step;
  Extent pair;
};

/// Steps at … at + count - 1, of which the first has none before it.
template <class Square>
CLOCKASSAY_KERNEL void add_steps(const std::int32_t* y, std::size_t at,
                                 std::size_t count, StepParts& sums) {
  using Sum = std::make_unsigned_t<Square>;
  Sum squares = 0, pair_squares = 0;
  Extent step = sums.step, pair = sums.pair;
  for (std::size_t i = at; i < at + count; ++i) {
    const std::int32_t before = y[i] - y[i - 1];
    const std::int32_t d = y[i + 1] - y[i];
    const std::int32_t e = d - before;
    squares += static_cast<Sum>(Square{d} * d);
    pair_squares += static_cast<Sum>(Square{e} * e);
    step.low = d < step.low ? d : step.low;
    step.high = d > step.high ? d : step.high;
    pair.low = e < pair.low ? e : pair.low;
    pair.high = e > pair.high ? e : pair.high;
  }
  sums.squares += squares;
  sums.pair_squares += pair_squares;
  sums.step = step;
  sums.pair = pair;
}

CLOCKASSAY_KERNEL StepSums steps_any(Offsets offset) {
  StepSums sums;
  const std::size_t steps = offset.size() - 1;
  if (steps == 0) return sums;
  const std::int32_t* y = offset.data();
  const std::int32_t first = y[1] - y[0];
  StepParts s;
  s.step = {first, first};
  s.pair = {0, 0};
  std::size_t at = 1;
  if (is_small(extent_of(offset))) {
    for (; at + kChunk <= steps; at += kChunk) {
      add_steps<std::int32_t>(y, at, kChunk, s);
    }
    add_steps<std::int32_t>(y, at, steps - at, s);
  } else {
    add_steps<std::int64_t>(y, at, steps - at, s);
  }
  sums.squares =
      static_cast<std::int64_t>(s.squares) + std::int64_t{first} * first;
  sums.pair_squares = static_cast<std::int64_t>(s.pair_squares);
  sums.pair_peak =
      std::max(std::int64_t{s.pair.high}, -std::int64_t{s.pair.low});
  sums.low = s.step.low;
  sums.high = s.step.high;
  return sums;
}

CLOCKASSAY_AT_LEVEL(StepSums, steps, (Offsets offset), (offset))

}  // namespace

OffsetSums sum_offsets(Offsets y) {
  assert(!y.empty() && y.size() <= kMaxBlockCycles);
  return sum(y);
}

StepSums sum_steps(Offsets y) {
  assert(!y.empty() && y.size() <= kMaxBlockCycles);
  return steps(y);
}

}  // namespace clockassay
