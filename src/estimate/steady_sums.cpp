// SPDX-License-Identifier: GPL-3.0-or-later
#include "estimate/steady_sums.h"

#include <algorithm>
#include <cassert>
#include <limits>
#include <type_traits>

#include "base/simd_level.h"

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
  const bool small = is_small(extent);
  const PointSums points = small ? sum_small(offset) : sum_large(offset);
  const auto n = static_cast<std::int64_t>(offset.size());
  OffsetSums sums;
  sums.line.n = n;
  sums.line.k = Int128(n) * (n - 1) / 2;
  sums.line.kk = Int128(n) * (n - 1) * (2 * n - 1) / 6;
  const Int128 base = small ? offset[0] : 0;
  sums.line.y = points.y + n * base;
  sums.line.ky = points.iy + base * sums.line.k;
  sums.line.yy = points.yy + 2 * base * points.y + n * base * base;
  sums.low = extent.low;
  sums.high = extent.high;
  return sums;
}

OffsetSums sum_plain(Offsets offset) {
  return sum_any(offset);
}

CLOCKASSAY_AVX2 OffsetSums sum_avx2(Offsets offset) {
  return sum_any(offset);
}

/// Squares and extremes of steps, and of differences of neighbouring steps.
struct StepSums {
  std::uint64_t squares = 0;
  std::uint64_t pair_squares = 0;
  Extent step;
  Extent pair;
};

/// Steps at … at + count - 1, of which the first has none before it.
template <class Square>
CLOCKASSAY_KERNEL void add_steps(const std::int32_t* y, std::size_t at,
                                 std::size_t count, StepSums& sums) {
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

CLOCKASSAY_KERNEL PeriodSums steps_any(Offsets offset) {
  PeriodSums sums;
  const std::size_t steps = offset.size() - 1;
  if (steps == 0) return sums;
  const std::int32_t* y = offset.data();
  const std::int32_t first = y[1] - y[0];
  StepSums s;
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
  sums.periods = static_cast<std::int64_t>(steps);
  sums.sum = std::int64_t{y[steps]} - y[0];
  sums.squares = Int128(s.squares) + Int128(first) * first;
  sums.period_min = s.step.low;
  sums.period_max = s.step.high;
  sums.pairs = sums.periods - 1;
  sums.pair_squares = s.pair_squares;
  sums.pair_peak =
      std::max(std::int64_t{s.pair.high}, -std::int64_t{s.pair.low});
  return sums;
}

PeriodSums steps_plain(Offsets offset) {
  return steps_any(offset);
}

CLOCKASSAY_AVX2 PeriodSums steps_avx2(Offsets offset) {
  return steps_any(offset);
}

CLOCKASSAY_KERNEL double residual(Offsets offset, std::size_t i, double slope) {
  return static_cast<double>(offset[i]) -
         static_cast<double>(static_cast<std::int32_t>(i)) * slope;
}

CLOCKASSAY_KERNEL OffsetRange range_any(Offsets offset, double slope) {
  OffsetRange range{residual(offset, 0, slope), residual(offset, 0, slope)};
  for (std::size_t i = 0; i < offset.size(); ++i) {
    const double r = residual(offset, i, slope);
    range.low = r < range.low ? r : range.low;
    range.high = r > range.high ? r : range.high;
  }
  return range;
}

OffsetRange range_plain(Offsets offset, double slope) {
  return range_any(offset, slope);
}

CLOCKASSAY_AVX2 OffsetRange range_avx2(Offsets offset, double slope) {
  return range_any(offset, slope);
}

/// `sign` -1 turns all over.
CLOCKASSAY_KERNEL void beyond_any(Offsets offset, double slope, double sign,
                                  double limit,
                                  std::vector<std::uint32_t>& found) {
  for (std::size_t at = 0; at < offset.size(); at += kChunk) {
    const std::size_t end = std::min(at + kChunk, offset.size());
    double most = sign * residual(offset, at, slope);
    for (std::size_t i = at; i < end; ++i) {
      const double r = sign * residual(offset, i, slope);
      most = r > most ? r : most;
    }
    if (most < limit) continue;
    for (std::size_t i = at; i < end; ++i) {
      if (sign * residual(offset, i, slope) < limit) continue;
      found.push_back(static_cast<std::uint32_t>(i));
    }
  }
}

void beyond_plain(Offsets offset, double slope, double sign, double limit,
                  std::vector<std::uint32_t>& found) {
  beyond_any(offset, slope, sign, limit, found);
}

CLOCKASSAY_AVX2 void beyond_avx2(Offsets offset, double slope, double sign,
                                 double limit,
                                 std::vector<std::uint32_t>& found) {
  beyond_any(offset, slope, sign, limit, found);
}

bool has_avx2() {
  return simd_level() >= SimdLevel::kAvx2;
}

}  // namespace

OffsetSums sum_offsets(Offsets offset) {
  assert(!offset.empty() && offset.size() <= kMaxBlockCycles);
  return has_avx2() ? sum_avx2(offset) : sum_plain(offset);
}

PeriodSums sum_steps(Offsets offset) {
  assert(!offset.empty() && offset.size() <= kMaxBlockCycles);
  return has_avx2() ? steps_avx2(offset) : steps_plain(offset);
}

OffsetRange offset_range(Offsets offset, double slope) {
  assert(!offset.empty());
  return has_avx2() ? range_avx2(offset, slope) : range_plain(offset, slope);
}

OffsetRange range_along(const SteadyEdges& edges, double slope) {
  const double base = along(edges.k0, edges.y0, slope);
  const OffsetRange range = offset_range(edges.offset, slope);
  return {base + range.low, base + range.high};
}

OffsetRange range_along(const AnyEdges& edges, double slope) {
  const double first = along(edges.k(0), edges.y(0), slope);
  OffsetRange range{first, first};
  for (std::size_t i = 1; i < edges.count(); ++i) {
    const double r = along(edges.k(i), edges.y(i), slope);
    range.low = std::min(range.low, r);
    range.high = std::max(range.high, r);
  }
  return range;
}

void offsets_beyond(Offsets offset, double slope, bool above, double limit,
                    std::vector<std::uint32_t>& found) {
  const double sign = above ? 1.0 : -1.0;
  if (has_avx2()) return beyond_avx2(offset, slope, sign, sign * limit, found);
  beyond_plain(offset, slope, sign, sign * limit, found);
}

}  // namespace clockassay
