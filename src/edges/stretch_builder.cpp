// SPDX-License-Identifier: GPL-3.0-or-later
#include "edges/stretch_builder.h"

#include <algorithm>
#include <limits>
#include <optional>

namespace clockassay {
namespace {

/// Writes down the first and the last edge.
void set_extent(Stretch& stretch) {
  stretch.first = Ticks(std::numeric_limits<std::int64_t>::min());
  stretch.last = Ticks(std::numeric_limits<std::int64_t>::max());
  const EdgeView all(stretch);
  const auto each_end = [&](std::size_t block, auto pick) {
    BlockEdges edges;
    all.read_block(block, edges);
    std::optional<std::int64_t> tick;
    for (const EdgeArray* a : {&edges.rise, &edges.fall}) {
      if (a->count == 0) continue;
      tick = tick ? pick(a->tick[0], a->tick[a->count - 1], *tick)
                  : pick(a->tick[0], a->tick[a->count - 1], a->tick[0]);
    }
    return edges.first_tick + Ticks(*tick);
  };
  const Ticks first =
      each_end(0, [](auto a, auto, auto b) { return std::min(a, b); });
  const Ticks last = each_end(all.block_count() - 1, [](auto, auto a, auto b) {
    return std::max(a, b);
  });
  stretch.first = first;
  stretch.last = last;
}

}  // namespace

void StretchBuilder::open() {
  stretch_ = Stretch{};
  stretch_.rising_only = rising_only_;
  has_rise_ = false;
  open_ = true;
}

void StretchBuilder::add_unnumbered(std::int64_t edges, Ticks last) {
  if (edges == 0) return;
  store_.unnumbered_edges += edges;
  if (!store_.last_unnumbered || last > *store_.last_unnumbered) {
    store_.last_unnumbered = last;
  }
}

/// Takes the extra edges for which `beyond(time)` off the stretch's account.
void StretchBuilder::take_off(Stretch& stretch,
                              const std::function<bool(Ticks)>& beyond) {
  std::erase_if(stretch.repairs, [&](const Repair& r) {
    if (r.kind != RepairKind::kExtraEdge || !beyond(r.time)) return false;
    --stretch.extra;
    add_unnumbered(1, r.time);
    return true;
  });
}

/// What was begun is no stretch.
void StretchBuilder::give_up() {
  take_off(stretch_, [](Ticks) { return true; });
  if (stretch_.blocks.empty()) return;
  set_extent(stretch_);
  add_unnumbered(stretch_.rising + stretch_.falling, stretch_.last);
}

void StretchBuilder::close(StretchBreak next) {
  if (open_ && stretch_.rising >= 2) {
    set_extent(stretch_);
    if (store_.stretches.empty()) {
      take_off(stretch_, [this](Ticks time) { return time < stretch_.first; });
    }
    store_.stretches.push_back(std::move(stretch_));
    store_.breaks.push_back(break_);
  } else if (open_) {
    give_up();
  }
  break_ = store_.stretches.empty() ? StretchBreak::kStart : next;
  open_ = false;
}

EdgeStore StretchBuilder::finish() {
  if (!store_.stretches.empty()) {
    Stretch& last = store_.stretches.back();
    take_off(last, [&last](Ticks time) { return time > last.last; });
  }
  return std::move(store_);
}

void StretchBuilder::note_missing(std::int64_t upto_cycle, Ticks time) {
  if (!has_rise_) return;
  const std::int64_t lost = upto_cycle - last_rise_cycle_ - 1;
  if (lost <= 0) return;
  stretch_.missing += lost;
  stretch_.repairs.push_back({RepairKind::kMissingCycle, time, lost});
}

void StretchBuilder::add_packed(const CycleBlock& block, std::int64_t first,
                                bool even) {
  if (!even) stretch_.uneven_cycles += block.count;
  note_missing(first, block.first);
  stretch_.blocks.push_back({Cycles(first), block.first, block});
  stretch_.rising += block.count;
  if (!rising_only_) stretch_.falling += block.count;
  has_rise_ = true;
  last_rise_cycle_ = first + block.count - 1;
}

void StretchBuilder::add_explicit(ExplicitEdges edges,
                                  const std::vector<std::int64_t>& left_out,
                                  Ticks base) {
  const auto before = static_cast<std::ptrdiff_t>(stretch_.repairs.size());
  for (std::int64_t tick : left_out) {
    stretch_.repairs.push_back({RepairKind::kExtraEdge, base + Ticks(tick), 1});
  }
  stretch_.extra += static_cast<std::int64_t>(left_out.size());
  for (const NumberedEdge& e : edges.rise) {
    note_missing(e.cycle, base + Ticks(e.tick));
    has_rise_ = true;
    last_rise_cycle_ = e.cycle;
  }
  std::stable_sort(
      stretch_.repairs.begin() + before, stretch_.repairs.end(),
      [](const Repair& a, const Repair& b) { return a.time < b.time; });
  if (edges.rise.empty() && edges.fall.empty()) return;
  stretch_.rising += static_cast<std::int64_t>(edges.rise.size());
  stretch_.falling += static_cast<std::int64_t>(edges.fall.size());
  stretch_.blocks.push_back({Cycles(0), base, std::move(edges)});
}

}  // namespace clockassay
