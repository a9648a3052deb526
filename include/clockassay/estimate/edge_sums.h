// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <cstdint>
#include <optional>
#include <utility>

#include "clockassay/base/parallel.h"
#include "clockassay/base/result.h"
#include "clockassay/base/units.h"
#include "clockassay/edges/edge_store.h"

namespace clockassay {

/// Residuals y of a view of so many cycles stay below this [ticks], so that
/// every sum and every product of the feasible set is exact in 128 bits, and
/// every range in units of it in 64.
/// 2^45 for up to 2^33 cycles: sums of squares below 2^125. For fewer than 2^17
/// a period of the longest capture, 2^62 ticks, so that the falling edges of a
/// slow clock in fine ticks have room: squares below 2^62 2^51, products of
/// cycles and residuals below 2^65.
inline constexpr std::int64_t kMostResidual = std::int64_t{1} << 51;
std::int64_t largest_residual(std::int64_t cycles);

/// Exact sums over points (k, y) of one polarity.
struct LineSums {
  std::int64_t n = 0;
  Int128 k = 0;
  Int128 y = 0;
  Int128 kk = 0;
  Int128 ky = 0;
  Int128 yy = 0;

  void add(std::int64_t point_k, std::int64_t point_y);
  /// The sums of a part whose points are (k + dk, y + dy) seen from here.
  void add_shifted(const LineSums& part, std::int64_t dk, std::int64_t dy);
  friend bool operator==(const LineSums&, const LineSums&) = default;
};

/// What residuals are taken against: y = tick - origin - period * (cycle -
/// centre), an integer, small, and exact whatever the tick count.
struct EdgeFrame {
  Cycles centre;  ///< about the middle, so that sums of k stay small
  Ticks origin;
  std::int64_t period = 0;  ///< ticks, the mean rounded

  std::int64_t k(Cycles first, std::int64_t cycle) const {
    return first.count() + cycle - centre.count();
  }
  std::int64_t y(Cycles first_cycle, Ticks first_tick, std::int64_t cycle,
                 std::int64_t tick) const {
    return (first_tick - origin).count() + tick -
           period * k(first_cycle, cycle);
  }
};

/// The first and the last rising edge, cycle and tick absolute.
std::optional<std::pair<NumberedEdge, NumberedEdge>> rising_ends(
    const EdgeView& view);

/// Whether a frame can be laid: two rising edges of different cycles.
bool has_two_rising_edges(const EdgeView& view);

/// The frame of a view that has two rising edges.
EdgeFrame frame_of(const EdgeView& view);

/// Differences of neighbouring periods and periods themselves, exact.
/// A period is formed between rising edges of consecutive numbers, a
/// cycle-to-cycle difference between two such periods that share an edge.
struct PeriodSums {
  std::int64_t periods = 0;
  Int128 sum = 0;  ///< of (period - frame.period)
  Int128 squares = 0;
  std::int64_t period_min = 0, period_max = 0;
  std::int64_t pairs = 0;
  Int128 pair_squares = 0;
  std::int64_t pair_peak = 0;  ///< largest magnitude
};

/// Variance of the periods about their mean [ticks^2]. In: two periods or more.
double period_variance(const PeriodSums& sums);
/// Correlation of neighbouring periods, by how much less or more than two
/// periods do they differ: -1/2 with white jitter of the edges, 0 where each
/// period deviates by itself. In: a pair, and periods that vary.
double period_correlation(const PeriodSums& sums);

struct EdgeSums {
  EdgeFrame frame;
  LineSums rise;
  LineSums fall;
  PeriodSums periods;
  std::int64_t first_cycle = 0;  ///< k of the first and last rising edge
  std::int64_t last_cycle = 0;
};

/// One pass over the edges; block-parallel, the same bits for any threads.
/// In:     a view with two rising edges
/// Errors: kOutOfRange when residuals reach largest_residual()
Result<EdgeSums> sum_edges(const EdgeView& view,
                           const ParallelFor& parallel_for);

}  // namespace clockassay
