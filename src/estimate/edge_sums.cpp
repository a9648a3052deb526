// SPDX-License-Identifier: GPL-3.0-or-later
#include "clockassay/estimate/edge_sums.h"

#include <algorithm>
#include <cassert>
#include <cmath>
#include <cstdlib>
#include <optional>
#include <span>
#include <vector>

#include "estimate/frame_block.h"
#include "estimate/packed_sums.h"
#include "estimate/steady_sums.h"

namespace clockassay {
namespace {

void add_period(PeriodSums& sums, std::int64_t y) {
  if (sums.periods == 0) {
    sums.period_min = sums.period_max = y;
  } else {
    sums.period_min = std::min(sums.period_min, y);
    sums.period_max = std::max(sums.period_max, y);
  }
  ++sums.periods;
  sums.sum += y;
  sums.squares += Int128(y) * y;
}

void add_pair(PeriodSums& sums, std::int64_t difference) {
  ++sums.pairs;
  sums.pair_squares += Int128(difference) * difference;
  sums.pair_peak = std::max(sums.pair_peak, std::abs(difference));
}

void merge(PeriodSums& into, const PeriodSums& part) {
  if (part.periods > 0) {
    if (into.periods == 0) {
      into.period_min = part.period_min;
      into.period_max = part.period_max;
    } else {
      into.period_min = std::min(into.period_min, part.period_min);
      into.period_max = std::max(into.period_max, part.period_max);
    }
  }
  into.periods += part.periods;
  into.sum += part.sum;
  into.squares += part.squares;
  into.pairs += part.pairs;
  into.pair_squares += part.pair_squares;
  into.pair_peak = std::max(into.pair_peak, part.pair_peak);
}

/// Feeds rising edges in order and forms periods and pairs.
class PeriodChain {
 public:
  explicit PeriodChain(PeriodSums& sums) : sums_(sums) {}
  void edge(const NumberedEdge& e) {
    const bool follows = has_last_ && e.cycle == last_.cycle + 1;
    const std::int64_t period = follows ? e.tick - last_.tick : 0;
    if (follows) add_period(sums_, period);
    if (follows && has_period_) add_pair(sums_, period - period_);
    last_ = e;
    has_last_ = true;
    period_ = period;
    has_period_ = follows;
  }

 private:
  PeriodSums& sums_;
  NumberedEdge last_{};
  std::int64_t period_ = 0;
  bool has_last_ = false;
  bool has_period_ = false;
};

/// Edges of one polarity within one block.
struct PolarityPart {
  LineSums sums;  // k and y relative to k0 and base
  std::int64_t k0 = 0;
  std::int64_t base = 0;
  std::int64_t low = 0;  // smallest and largest y of the frame, or any within
  std::int64_t high = 0;

  /// Whether all of it lies within +-limit of the frame's line: no matter how
  /// edges are cut into blocks.
  bool is_within(std::int64_t limit) const {
    return sums.n == 0 || (low > -limit && high < limit);
  }
};

struct BlockPart {
  PolarityPart rise;
  PolarityPart fall;
  PeriodSums periods;
  std::vector<NumberedEdge> ends;  // the first two and last two rising edges
};

/// Points further apart than LineSums can hold have no sums but n: the caller
/// gives up.
PolarityPart sum_polarity(const AnyEdges& edges, std::int64_t limit) {
  PolarityPart part;
  if (edges.count() == 0) return part;
  part.k0 = edges.k(0);
  part.base = part.low = part.high = edges.y(0);
  for (std::size_t i = 1; i < edges.count(); ++i) {
    part.low = std::min(part.low, edges.y(i));
    part.high = std::max(part.high, edges.y(i));
  }
  if (part.high - part.low >= 2 * limit) {
    part.sums.n = static_cast<std::int64_t>(edges.count());
    return part;
  }
  for (std::size_t i = 0; i < edges.count(); ++i) {
    part.sums.add(edges.k(i) - part.k0, edges.y(i) - part.base);
  }
  return part;
}

PolarityPart sum_polarity(const SteadyEdges& edges, std::int64_t) {
  PolarityPart part;
  if (edges.count() == 0) return part;
  const OffsetSums sums = sum_offsets(edges.offset);
  part.sums = line_sums(sums, edges.count());
  part.k0 = edges.k0;
  part.base = edges.y0;
  part.low = edges.y0 + sums.low;
  part.high = edges.y0 + sums.high;
  return part;
}

PeriodSums sum_periods(const AnyEdges& rise) {
  PeriodSums sums;
  PeriodChain chain(sums);
  for (std::size_t i = 0; i < rise.count(); ++i) {
    chain.edge({rise.k(i), rise.y(i)});
  }
  return sums;
}

PeriodSums sum_periods(const SteadyEdges& rise) {
  const std::span<const std::int32_t> y = rise.offset;
  return period_sums(sum_steps(y), std::int64_t{y.back()} - y.front(),
                     y.size());
}

template <class Edges>
std::vector<NumberedEdge> ends_of(const Edges& rise) {
  std::vector<NumberedEdge> ends;
  const std::size_t n = rise.count();
  for (std::size_t i = 0; i < n; ++i) {
    if (i == 2) i = std::max(i, n - 2);
    ends.push_back({rise.k(i), rise.y(i)});
  }
  return ends;
}

/// Edges of a packed block from the sums that it carries.
BlockPart part_of(const PackedSums& sums) {
  BlockPart part;
  const auto polarity = [&](const LineSums& line, std::int64_t y0) {
    return PolarityPart{line, sums.k0, y0, y0, y0};
  };
  part.rise = polarity(sums.rise, sums.rise_y0);
  part.fall = polarity(sums.fall, sums.fall_y0);
  part.periods = sums.periods;
  part.ends = sums.ends;
  return part;
}

BlockPart sum_block(const EdgeView& view, std::size_t index,
                    const EdgeFrame& frame, std::int64_t limit) {
  if (const auto packed = packed_sums(view, index, frame, limit)) {
    return part_of(*packed);
  }
  FrameBlock block;
  block.read(view, index, frame);
  BlockPart part;
  block.visit([&](const auto& rise, const auto& fall) {
    part.rise = sum_polarity(rise, limit);
    part.fall = sum_polarity(fall, limit);
    if (rise.count() == 0) return;
    part.periods = sum_periods(rise);
    part.ends = ends_of(rise);
  });
  return part;
}

bool are_within(const std::vector<BlockPart>& parts, std::int64_t limit) {
  return std::all_of(parts.begin(), parts.end(), [&](const BlockPart& part) {
    return part.rise.is_within(limit) && part.fall.is_within(limit);
  });
}

EdgeFrame frame_between(const NumberedEdge& first, const NumberedEdge& last) {
  const std::int64_t cycles = last.cycle - first.cycle;
  const std::int64_t ticks = last.tick - first.tick;
  EdgeFrame frame;
  frame.period = (ticks + cycles / 2) / cycles;
  frame.centre = Cycles(first.cycle + cycles / 2);
  frame.origin = Ticks(first.tick + frame.period * (cycles / 2));
  return frame;
}

/// Periods and pairs that reach from the blocks before into this one: those
/// the chain over `tail` then `head` forms, less what each forms alone.
void add_across(PeriodSums& sums, const std::vector<NumberedEdge>& tail,
                const std::vector<NumberedEdge>& head) {
  std::optional<std::int64_t> before, across, after;
  const auto period = [](const NumberedEdge& a, const NumberedEdge& b) {
    return b.cycle == a.cycle + 1 ? std::optional(b.tick - a.tick)
                                  : std::nullopt;
  };
  across = period(tail.back(), head.front());
  if (!across) return;
  add_period(sums, *across);
  if (tail.size() >= 2) before = period(tail[tail.size() - 2], tail.back());
  if (head.size() >= 2) after = period(head[0], head[1]);
  if (before) add_pair(sums, *across - *before);
  if (after) add_pair(sums, *after - *across);
}

}  // namespace

void LineSums::add(std::int64_t point_k, std::int64_t point_y) {
  ++n;
  k += point_k;
  y += point_y;
  kk += Int128(point_k) * point_k;
  ky += Int128(point_k) * point_y;
  yy += Int128(point_y) * point_y;
}

void LineSums::add_shifted(const LineSums& part, std::int64_t dk,
                           std::int64_t dy) {
  const Int128 m = part.n, a = dk, b = dy;
  n += part.n;
  k += part.k + m * a;
  y += part.y + m * b;
  kk += part.kk + 2 * a * part.k + m * a * a;
  ky += part.ky + a * part.y + b * part.k + m * a * b;
  yy += part.yy + 2 * b * part.y + m * b * b;
}

double period_variance(const PeriodSums& sums) {
  assert(sums.periods >= 2);
  const auto n = static_cast<double>(sums.periods);
  // n * squares - sum^2 is exact before the division.
  const Int128 scaled =
      Int128(sums.periods) * sums.squares - sums.sum * sums.sum;
  return static_cast<double>(scaled) / (n * (n - 1.0));
}

double period_correlation(const PeriodSums& sums) {
  return 1.0 - 0.5 * static_cast<double>(sums.pair_squares) /
                   static_cast<double>(sums.pairs) / period_variance(sums);
}

std::optional<std::pair<NumberedEdge, NumberedEdge>> rising_ends(
    const EdgeView& view) {
  std::optional<NumberedEdge> first, last;
  BlockEdges edges;
  const auto absolute = [&](std::size_t i) {
    return NumberedEdge{edges.first_cycle.count() + edges.rise.cycle[i],
                        edges.first_tick.count() + edges.rise.tick[i]};
  };
  for (std::size_t b = 0; b < view.block_count() && !first; ++b) {
    view.read_block(b, edges);
    if (edges.rise.count > 0) first = absolute(0);
  }
  for (std::size_t b = view.block_count(); b-- > 0 && !last;) {
    view.read_block(b, edges);
    if (edges.rise.count > 0) last = absolute(edges.rise.count - 1);
  }
  if (!first) return std::nullopt;
  return std::pair(*first, *last);
}

bool has_two_rising_edges(const EdgeView& view) {
  const auto ends = rising_ends(view);
  return ends && ends->second.cycle > ends->first.cycle;
}

EdgeFrame frame_of(const EdgeView& view) {
  const auto ends = rising_ends(view);
  assert(ends && ends->second.cycle > ends->first.cycle);
  return frame_between(ends->first, ends->second);
}

std::int64_t largest_residual(std::int64_t cycles) {
  constexpr std::int64_t kAnyCycles = std::int64_t{1} << 45;
  constexpr std::int64_t kLongest = std::int64_t{1} << 62;
  return std::clamp(kLongest / std::max<std::int64_t>(cycles, 1), kAnyCycles,
                    kMostResidual);
}

Result<EdgeSums> sum_edges(const EdgeView& view,
                           const ParallelFor& parallel_for) {
  const auto ends = rising_ends(view);
  assert(ends && ends->second.cycle > ends->first.cycle);
  EdgeSums sums;
  sums.frame = frame_between(ends->first, ends->second);
  const std::int64_t limit =
      largest_residual(ends->second.cycle - ends->first.cycle);
  std::vector<BlockPart> parts(view.block_count());
  parallel_for(parts.size(), [&](std::size_t i) {
    parts[i] = sum_block(view, i, sums.frame, limit);
  });
  if (!are_within(parts, limit)) {
    return failure(
        ErrorCode::kOutOfRange,
        "the edges lie too many ticks off a steady clock for exact sums",
        "write the times with fewer decimals: the tick is far finer than the "
        "clock is steady");
  }
  std::vector<NumberedEdge> tail;
  bool any = false;
  for (const BlockPart& part : parts) {
    sums.rise.add_shifted(part.rise.sums, part.rise.k0, part.rise.base);
    sums.fall.add_shifted(part.fall.sums, part.fall.k0, part.fall.base);
    merge(sums.periods, part.periods);
    if (part.ends.empty()) continue;
    if (!any) sums.first_cycle = part.ends.front().cycle;
    any = true;
    sums.last_cycle = part.ends.back().cycle;
    if (!tail.empty()) add_across(sums.periods, tail, part.ends);
    // A block of one edge keeps the one before it in reach.
    if (part.ends.size() == 1 && !tail.empty()) {
      tail = {tail.back(), part.ends.back()};
    } else {
      tail = part.ends;
    }
  }
  return sums;
}

}  // namespace clockassay
