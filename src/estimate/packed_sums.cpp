// SPDX-License-Identifier: GPL-3.0-or-later
#include "estimate/packed_sums.h"

#include <algorithm>
#include <cstdlib>

#include "estimate/steady_sums.h"

namespace clockassay {
namespace {

/// The points (i, y + i * step).
LineSums sheared(const LineSums& line, std::int64_t step) {
  const Int128 s = step;
  LineSums out = line;
  out.y += s * line.k;
  out.ky += s * line.kk;
  out.yy += 2 * s * line.ky + s * s * line.kk;
  return out;
}

/// The periods when each is longer by `step`.
PeriodSums lengthened(const PeriodSums& sums, std::int64_t step) {
  if (sums.periods == 0) return sums;
  const Int128 s = step, n = sums.periods;
  PeriodSums out = sums;
  out.squares += 2 * s * sums.sum + n * s * s;
  out.sum += n * s;
  out.period_min += step;
  out.period_max += step;
  return out;
}

std::vector<NumberedEdge> ends_of(const CycleBlock& block, std::int64_t k0,
                                  std::int64_t y0, std::int64_t period) {
  std::vector<NumberedEdge> ends;
  for (std::uint32_t i = 0; i < block.count; ++i) {
    if (i == 2) i = std::max(i, block.count - 2);
    ends.push_back({k0 + i, y0 + cycle_edges(block, i).rise - period * i});
  }
  return ends;
}

}  // namespace

std::optional<PackedSums> packed_sums(const EdgeView& view, std::size_t i,
                                      const EdgeFrame& frame,
                                      std::int64_t limit) {
  // What keeps sums within 128 bits, and residuals near those of the block.
  constexpr std::int64_t kMostStep = std::int64_t{1} << 12;
  constexpr std::int64_t kFurthest =
      kMostStep * static_cast<std::int64_t>(kMaxBlockCycles) + kNarrowResidual;
  const auto whole = view.whole_block(i);
  if (!whole || whole->rising != Polarity::kRising) return std::nullopt;
  const CycleBlock& block = *whole->cycles;
  if (!block.has_sums) return std::nullopt;
  const std::int64_t step = block.base_period - frame.period;
  PackedSums out;
  out.k0 = frame.k(whole->first_cycle, 0);
  out.count = block.count;
  out.rise_y0 = frame.y(whole->first_cycle, block.first, 0, 0);
  out.fall_y0 = out.rise_y0 + block.base_high;
  const auto is_near = [&](std::int64_t y0) {
    return std::abs(y0) < limit - kFurthest;
  };
  if (std::abs(step) > kMostStep || !is_near(out.rise_y0) ||
      !is_near(out.fall_y0)) {
    return std::nullopt;
  }
  const std::size_t n = block.count;
  const std::int64_t first = cycle_edges(block, 0).rise;
  const std::int64_t last = cycle_edges(block, block.count - 1).rise -
                            (block.count - 1) * block.base_period;
  out.rise = sheared(line_sums(block.sums.rise, n), step);
  if (whole->has_falls) {
    out.fall = sheared(line_sums(block.sums.fall, n), step);
  }
  out.periods =
      lengthened(period_sums(block.sums.steps, last - first, n), step);
  out.ends = ends_of(block, out.k0, out.rise_y0, frame.period);
  return out;
}

}  // namespace clockassay
