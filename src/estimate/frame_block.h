// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <cstddef>
#include <cstdint>
#include <span>

#include "clockassay/edges/edge_store.h"
#include "clockassay/estimate/edge_sums.h"
#include "estimate/index_search.h"

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
  /// Edges begin … end - 1.
  SteadyEdges part(std::size_t begin, std::size_t end) const {
    return {k(begin), y0, offset.subspan(begin, end - begin)};
  }
};

/// Any edges of one polarity in a frame.
struct AnyEdges {
  const EdgeFrame* frame = nullptr;
  const BlockEdges* block = nullptr;
  std::span<const std::int64_t> cycle;  ///< relative to the block
  std::span<const std::int64_t> tick;

  std::size_t count() const { return cycle.size(); }
  std::int64_t k(std::size_t i) const {
    return frame->k(block->first_cycle, cycle[i]);
  }
  std::int64_t y(std::size_t i) const {
    return frame->y(block->first_cycle, block->first_tick, cycle[i], tick[i]);
  }
  AnyEdges part(std::size_t begin, std::size_t end) const {
    return {frame, block, cycle.subspan(begin, end - begin),
            tick.subspan(begin, end - begin)};
  }
};

/// visit(part, edges of it) for a block's edges part by part.
/// In: part_of(k), which never decreases
template <class Edges, class PartOf, class Visit>
void for_each_part(const Edges& edges, const PartOf& part_of,
                   const Visit& visit) {
  const std::size_t n = edges.count();
  for (std::size_t at = 0; at < n;) {
    const std::size_t part = part_of(edges.k(at));
    const std::size_t next = first_without(
        at, n, [&](std::size_t i) { return part_of(edges.k(i)) == part; });
    visit(part, edges.part(at, next));
    at = next;
  }
}

/// The edges of one block of a view, as points of a frame. What visit gives
/// points into it.
class FrameBlock {
 public:
  FrameBlock() = default;
  FrameBlock(const FrameBlock&) = delete;
  FrameBlock& operator=(const FrameBlock&) = delete;

  /// In: i below view.block_count()
  void read(const EdgeView& view, std::size_t i, const EdgeFrame& frame);

  /// visit(rise, fall), both SteadyEdges or both AnyEdges.
  template <class Visit>
  void visit(const Visit& visit) const {
    if (steady_) {
      visit(steady_rise_, steady_fall_);
    } else {
      visit(any(edges_.rise), any(edges_.fall));
    }
  }

 private:
  AnyEdges any(const EdgeArray& edges) const {
    return {&frame_, &edges_, std::span(edges.cycle).first(edges.count),
            std::span(edges.tick).first(edges.count)};
  }
  bool read_steady(const EdgeView& view, std::size_t i, const EdgeFrame& frame);

  bool steady_ = false;
  SteadyEdges steady_rise_, steady_fall_;
  CycleResiduals residuals_;
  EdgeFrame frame_;
  BlockEdges edges_;
};

}  // namespace clockassay
