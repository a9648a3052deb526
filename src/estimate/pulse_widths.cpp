// SPDX-License-Identifier: GPL-3.0-or-later
#include "clockassay/estimate/pulse_widths.h"

#include <optional>
#include <vector>

namespace clockassay {
namespace {

/// How many of so many lengths are longer, if their extremes tell.
std::optional<std::int64_t> count_longer(std::int64_t shortest,
                                         std::int64_t longest, double ticks,
                                         std::int64_t count) {
  if (static_cast<double>(shortest) > ticks) return count;
  if (static_cast<double>(longest) <= ticks) return 0;
  return std::nullopt;
}

/// By the extremes of a block that is wholly in view, where they tell.
std::optional<PulseWidths> count_by_extremes(const EdgeView& view,
                                             std::size_t index, double ticks) {
  const auto whole = view.whole_block(index);
  if (!whole || !whole->has_falls) return std::nullopt;
  const CycleBlock& cycles = *whole->cycles;
  PulseWidths pulses;
  pulses.highs = cycles.count;
  pulses.lows = pulses.highs - 1;  // the last one ends beyond the block
  const auto highs =
      count_longer(cycles.high_min, cycles.high_max, ticks, pulses.highs);
  const auto lows =
      count_longer(cycles.low_min, cycles.low_max, ticks, pulses.lows);
  if (!highs || !lows) return std::nullopt;
  pulses.long_highs = *highs;
  pulses.long_lows = *lows;
  return pulses;
}

PulseWidths count_block(const EdgeView& view, std::size_t index, double ticks) {
  if (const auto pulses = count_by_extremes(view, index, ticks)) return *pulses;
  BlockEdges edges;
  view.read_block(index, edges);
  PulseWidths pulses;
  const EdgeArray &rise = edges.rise, &fall = edges.fall;
  std::size_t f = 0;
  for (std::size_t r = 0; r < rise.count; ++r) {
    while (f < fall.count && fall.cycle[f] < rise.cycle[r]) ++f;
    if (f == fall.count) break;
    if (fall.cycle[f] != rise.cycle[r]) continue;
    ++pulses.highs;
    const auto high = static_cast<double>(fall.tick[f] - rise.tick[r]);
    pulses.long_highs += high > ticks;
    if (r + 1 == rise.count || rise.cycle[r + 1] != rise.cycle[r] + 1) continue;
    ++pulses.lows;
    const auto low = static_cast<double>(rise.tick[r + 1] - fall.tick[f]);
    pulses.long_lows += low > ticks;
  }
  return pulses;
}

bool mostly_short(std::int64_t count, std::int64_t long_ones) {
  return count > 0 && 20 * long_ones < count;
}

}  // namespace

PulseWidths count_pulses(const EdgeView& view, double ticks,
                         const ParallelFor& parallel_for) {
  std::vector<PulseWidths> blocks(view.block_count());
  parallel_for(blocks.size(),
               [&](std::size_t i) { blocks[i] = count_block(view, i, ticks); });
  PulseWidths sum;
  for (const PulseWidths& b : blocks) {
    sum.highs += b.highs;
    sum.long_highs += b.long_highs;
    sum.lows += b.lows;
    sum.long_lows += b.long_lows;
  }
  return sum;
}

bool highs_may_be_missed(const PulseWidths& pulses) {
  return mostly_short(pulses.highs, pulses.long_highs);
}

bool may_be_missed(const PulseWidths& pulses) {
  return highs_may_be_missed(pulses) ||
         mostly_short(pulses.lows, pulses.long_lows);
}

}  // namespace clockassay
