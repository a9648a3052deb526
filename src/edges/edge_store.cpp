// SPDX-License-Identifier: GPL-3.0-or-later
#include "clockassay/edges/edge_store.h"

#include <algorithm>
#include <cassert>
#include <limits>

namespace clockassay {
namespace {

/// Instant of the first edge a block holds.
Ticks block_begin(const NumberedBlock& block) {
  const auto* e = std::get_if<ExplicitEdges>(&block.edges);
  if (e == nullptr) return block.first_tick;
  std::int64_t first = std::numeric_limits<std::int64_t>::max();
  if (!e->rise.empty()) first = e->rise.front().tick;
  if (!e->fall.empty()) first = std::min(first, e->fall.front().tick);
  return block.first_tick + Ticks(first);
}

/// Instant of the last edge a block may hold.
Ticks block_end(const NumberedBlock& block) {
  if (const auto* packed = std::get_if<CycleBlock>(&block.edges)) {
    return packed->end;
  }
  const auto& e = std::get<ExplicitEdges>(block.edges);
  std::int64_t last = std::numeric_limits<std::int64_t>::min();
  if (!e.rise.empty()) last = e.rise.back().tick;
  if (!e.fall.empty()) last = std::max(last, e.fall.back().tick);
  return block.first_tick + Ticks(last);
}

void append(EdgeArray& array, std::int64_t cycle, std::int64_t tick) {
  assert(array.count < kMaxBlockEdges);
  array.cycle[array.count] = cycle;
  array.tick[array.count] = tick;
  ++array.count;
}

void read_packed(const CycleBlock& block, std::int64_t from, std::int64_t to,
                 bool rising_only, BlockEdges& out) {
  DecodedCycles decoded;
  decode_cycles(block, decoded);
  for (std::size_t i = 0; i < decoded.count; ++i) {
    const auto cycle = static_cast<std::int64_t>(i);
    if (decoded.rise[i] >= from && decoded.rise[i] <= to) {
      append(out.rise, cycle, decoded.rise[i]);
    }
    if (!rising_only && decoded.fall[i] >= from && decoded.fall[i] <= to) {
      append(out.fall, cycle, decoded.fall[i]);
    }
  }
}

void read_explicit(const std::vector<NumberedEdge>& edges, std::int64_t from,
                   std::int64_t to, EdgeArray& out) {
  for (const NumberedEdge& e : edges) {
    if (e.tick >= from && e.tick <= to) append(out, e.cycle, e.tick);
  }
}

}  // namespace

EdgeView::EdgeView(const Stretch& stretch)
    : EdgeView(stretch, stretch.first, stretch.last) {}

EdgeView::EdgeView(const Stretch& stretch, Ticks from, Ticks to)
    : stretch_(&stretch), from_(from), to_(to) {
  const auto& blocks = stretch.blocks;
  const auto first = std::partition_point(
      blocks.begin(), blocks.end(),
      [&](const NumberedBlock& b) { return block_end(b) < from; });
  const auto last = std::partition_point(
      first, blocks.end(),
      [&](const NumberedBlock& b) { return block_begin(b) <= to; });
  begin_ = static_cast<std::size_t>(first - blocks.begin());
  end_ = static_cast<std::size_t>(last - blocks.begin());
}

Ticks EdgeView::block_first(std::size_t i) const {
  return block_begin(block(i));
}

std::optional<WholeBlock> EdgeView::whole_block(std::size_t i) const {
  const NumberedBlock& b = block(i);
  const auto* packed = std::get_if<CycleBlock>(&b.edges);
  if (packed == nullptr || packed->first < from_ || packed->end > to_) {
    return std::nullopt;
  }
  // Falling edges that mean nothing are none.
  if (stretch_->rising_only && only_ == Polarity::kFalling) return std::nullopt;
  assert(b.first_tick == packed->first);
  return WholeBlock{packed, b.first_cycle, only_.value_or(Polarity::kRising),
                    !stretch_->rising_only && !only_};
}

EdgeView EdgeView::part(Ticks from, Ticks to) const {
  EdgeView part(*stretch_, std::max(from, from_), std::min(to, to_));
  part.only_ = only_;
  return part;
}

EdgeView EdgeView::only(Polarity polarity) const {
  EdgeView view = *this;
  view.only_ = polarity;
  return view;
}

std::int64_t EdgeView::extra_edges() const {
  return std::count_if(stretch_->repairs.begin(), stretch_->repairs.end(),
                       [&](const Repair& r) {
                         return r.kind == RepairKind::kExtraEdge &&
                                r.time >= from_ && r.time <= to_;
                       });
}

void EdgeView::read_block(std::size_t i, BlockEdges& out) const {
  const NumberedBlock& b = block(i);
  out.first_cycle = b.first_cycle;
  out.first_tick = b.first_tick;
  out.rise.count = 0;
  out.fall.count = 0;
  // Only instants are compared, so that the whole range of ticks may be asked.
  const auto offset = [&](Ticks t) {
    constexpr std::int64_t kFar = std::numeric_limits<std::int64_t>::max() / 2;
    std::int64_t difference = 0;
    if (__builtin_sub_overflow(t.count(), b.first_tick.count(), &difference)) {
      difference = t.count() < 0 ? -kFar : kFar;
    }
    return difference;
  };
  const std::int64_t from = offset(from_);
  const std::int64_t to = offset(to_);
  if (const auto* packed = std::get_if<CycleBlock>(&b.edges)) {
    read_packed(*packed, from, to, stretch_->rising_only, out);
  } else {
    const auto& e = std::get<ExplicitEdges>(b.edges);
    read_explicit(e.rise, from, to, out.rise);
    read_explicit(e.fall, from, to, out.fall);
  }
  if (!only_) return;
  if (*only_ == Polarity::kFalling) out.rise = out.fall;
  out.fall.count = 0;
}

}  // namespace clockassay
