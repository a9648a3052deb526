// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <cstddef>
#include <cstdint>
#include <span>

#include "clockassay/edges/edge_store.h"
#include "clockassay/estimate/edge_sums.h"

namespace clockassay {

/// Edges of one polarity in a frame, one for each cycle from k0 on and close to
/// a steady clock: what loops over millions of edges are made for.
struct SteadyEdges {
  std::int64_t k0 = 0;
  std::int64_t y0 = 0;
  std::span<const std::int32_t> offset;  ///< y - y0, below kNarrowResidual

  std::size_t count() const { return offset.size(); }
  std::int64_t k(std::size_t i) const {
    return k0 + static_cast<std::int64_t>(i);
  }
  std::int64_t y(std::size_t i) const { return y0 + offset[i]; }
};

/// Any edges of one polarity in a frame.
struct AnyEdges {
  const EdgeFrame* frame = nullptr;
  const BlockEdges* block = nullptr;
  const EdgeArray* edges = nullptr;  ///< of the block

  std::size_t count() const { return edges->count; }
  std::int64_t k(std::size_t i) const {
    return frame->k(block->first_cycle, edges->cycle[i]);
  }
  std::int64_t y(std::size_t i) const {
    return frame->y(block->first_cycle, block->first_tick, edges->cycle[i],
                    edges->tick[i]);
  }
};

/// The edges of one block of a view, as points of a frame. Large: one for many
/// blocks.
class FrameBlock {
 public:
  /// In: i below view.block_count()
  void read(const EdgeView& view, std::size_t i, const EdgeFrame& frame);

  /// visit(rise, fall), both SteadyEdges or both AnyEdges.
  template <class Visit>
  void visit(const Visit& visit) const {
    if (steady_) {
      visit(steady_rise_, steady_fall_);
    } else {
      visit(AnyEdges{&frame_, &edges_, &edges_.rise},
            AnyEdges{&frame_, &edges_, &edges_.fall});
    }
  }

 private:
  bool read_steady(const EdgeView& view, std::size_t i, const EdgeFrame& frame);

  bool steady_ = false;
  SteadyEdges steady_rise_, steady_fall_;
  CycleResiduals residuals_;
  EdgeFrame frame_;
  BlockEdges edges_;
};

}  // namespace clockassay
