// SPDX-License-Identifier: GPL-3.0-or-later
#include "clockassay/estimate/time_interval_error.h"

#include <algorithm>
#include <cassert>
#include <limits>
#include <memory>

#include "estimate/frame_block.h"

namespace clockassay {
namespace {

/// k of the first rising edge of a block, or `before` if it has none.
std::int64_t first_k(const EdgeView& view, std::size_t i,
                     const EdgeFrame& frame, std::int64_t before) {
  if (const auto whole = view.whole_block(i)) {
    return frame.k(whole->first_cycle, 0);
  }
  BlockEdges edges;
  view.read_block(i, edges);
  if (edges.rise.count == 0) return before;
  return frame.k(edges.first_cycle, edges.rise.cycle[0]);
}

}  // namespace

TimeIntervalErrors::TimeIntervalErrors(const EdgeView& view,
                                       const EdgeSums& sums, double slope,
                                       double intercept)
    : view_(&view),
      frame_(sums.frame),
      slope_(slope),
      intercept_(intercept),
      first_k_(sums.first_cycle),
      count_(sums.last_cycle - sums.first_cycle + 1) {
  std::int64_t before = first_k_;
  for (std::size_t i = 0; i < view.block_count(); ++i) {
    before = first_k(view, i, frame_, before);
    block_k_.push_back(before);
  }
}

void TimeIntervalErrors::read(std::int64_t at, std::span<double> out) const {
  const auto size = static_cast<std::int64_t>(out.size());
  assert(at >= 0 && at + size <= count_);
  std::fill(out.begin(), out.end(), std::numeric_limits<double>::quiet_NaN());
  const std::int64_t begin = first_k_ + at;
  // The last block that begins at or before it, and all up to the end.
  const auto after = std::upper_bound(block_k_.begin(), block_k_.end(), begin);
  std::size_t i = static_cast<std::size_t>(after - block_k_.begin());
  i = i > 0 ? i - 1 : 0;
  const auto block = std::make_unique<FrameBlock>();
  for (; i < block_k_.size() && block_k_[i] < begin + size; ++i) {
    block->read(*view_, i, frame_);
    block->visit([&](const auto& rise, const auto&) {
      for (std::size_t j = 0; j < rise.count(); ++j) {
        const std::int64_t to = rise.k(j) - begin;
        if (to < 0 || to >= size) continue;
        out[static_cast<std::size_t>(to)] =
            static_cast<double>(rise.y(j)) -
            slope_ * static_cast<double>(rise.k(j)) - intercept_;
      }
    });
  }
}

}  // namespace clockassay
