// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <cstdint>
#include <span>
#include <vector>

#include "clockassay/edges/edge_store.h"
#include "clockassay/estimate/edge_sums.h"

namespace clockassay {

/// The time-interval error of the rising edges of a view, cycle by cycle: how
/// much later than the line an edge was seen [ticks]. Any part of it can be
/// read, so that a long view need not be held as a whole.
class TimeIntervalErrors {
 public:
  /// In: sums of the view, with two rising edges; the line y = intercept +
  ///     slope * k of their frame. The view must outlive it.
  TimeIntervalErrors(const EdgeView& view, const EdgeSums& sums, double slope,
                     double intercept);

  /// Cycles from the first rising edge to the last, both counted.
  std::int64_t count() const { return count_; }

  /// out[i] = error of cycle at + i, NaN where no edge is known. Safe for use
  /// by several threads at once.
  /// In: 0 <= at, at + out.size() <= count()
  /// Cost: O(out.size()) and a block or two
  void read(std::int64_t at, std::span<double> out) const;

 private:
  const EdgeView* view_;
  EdgeFrame frame_;
  double slope_;
  double intercept_;
  std::int64_t first_k_;
  std::int64_t count_;
  std::vector<std::int64_t> block_k_;  // no edge of a block has a smaller k
};

}  // namespace clockassay
