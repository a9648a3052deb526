// SPDX-License-Identifier: GPL-3.0-or-later
#include "estimate/steady_sums.h"

#include <algorithm>
#include <cassert>

#include "base/simd_level.h"

namespace clockassay {
namespace {

/// Points looked at together.
constexpr std::size_t kChunk = 64;

using Offsets = std::span<const std::int32_t>;

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

CLOCKASSAY_AT_LEVEL(OffsetRange, range, (Offsets offset, double slope),
                    (offset, slope))

/// `sign` -1 turns all over.
CLOCKASSAY_KERNEL void beyond_any(Offsets offset, double slope, double sign,
                                  double limit,
                                  std::vector<std::uint32_t>& found) {
  for (std::size_t at = 0; at < offset.size(); at += kChunk) {
    const std::size_t end = std::min(at + kChunk, offset.size());
    std::int64_t beyond = 0;
    for (std::size_t i = at; i < end; ++i) {
      beyond |= sign * residual(offset, i, slope) < limit ? 0 : 1;
    }
    if (beyond == 0) continue;
    for (std::size_t i = at; i < end; ++i) {
      if (sign * residual(offset, i, slope) < limit) continue;
      found.push_back(static_cast<std::uint32_t>(i));
    }
  }
}

CLOCKASSAY_AT_LEVEL(void, beyond,
                    (Offsets offset, double slope, double sign, double limit,
                     std::vector<std::uint32_t>& found),
                    (offset, slope, sign, limit, found))

}  // namespace

LineSums line_sums(const OffsetSums& sums, std::size_t count) {
  const auto n = static_cast<std::int64_t>(count);
  LineSums line;
  line.n = n;
  line.k = n * (n - 1) / 2;
  line.y = sums.y;
  line.kk = n * (n - 1) * (2 * n - 1) / 6;
  line.ky = sums.iy;
  line.yy = sums.yy;
  return line;
}

PeriodSums period_sums(const StepSums& steps, std::int64_t all,
                       std::size_t count) {
  PeriodSums sums;
  if (count < 2) return sums;
  sums.periods = static_cast<std::int64_t>(count) - 1;
  sums.sum = all;
  sums.squares = steps.squares;
  sums.period_min = steps.low;
  sums.period_max = steps.high;
  sums.pairs = sums.periods - 1;
  sums.pair_squares = steps.pair_squares;
  sums.pair_peak = steps.pair_peak;
  return sums;
}

OffsetRange offset_range(Offsets offset, double slope) {
  assert(!offset.empty());
  return range(offset, slope);
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
  beyond(offset, slope, sign, sign * limit, found);
}

}  // namespace clockassay
