// SPDX-License-Identifier: GPL-3.0-or-later
#include "estimate/step_place.h"

#include <algorithm>
#include <cassert>
#include <cmath>
#include <vector>

namespace clockassay {
namespace {

/// Edges as they count for either side.
struct Handover {
  std::vector<Ticks> ticks;
  std::vector<double> apart;  ///< the lines, at each edge
  /// After the edge i: how much more its square and those before it are about
  /// the line before the step than about the one after it.
  std::vector<double> cost;
};

Handover handover_costs(const EdgeView& view, const PhaseParts& phase,
                        const StepLines& lines) {
  Handover all;
  double cost = 0.0;
  BlockEdges edges;
  for (std::size_t b = 0; b < phase.blocks.size(); ++b) {
    const PhaseParts::Extent& extent = phase.blocks[b];
    if (extent.first > extent.last || extent.last < lines.from_cycle ||
        extent.first > lines.to_cycle) {
      continue;
    }
    view.read_block(b, edges);
    for (std::size_t i = 0; i < edges.rise.count; ++i) {
      const std::int64_t cycle = edges.rise.cycle[i], tick = edges.rise.tick[i];
      const std::int64_t k = phase.frame.k(edges.first_cycle, cycle);
      if (k < lines.from_cycle || k > lines.to_cycle) continue;
      const auto y = static_cast<double>(
          phase.frame.y(edges.first_cycle, edges.first_tick, cycle, tick));
      const auto at = static_cast<double>(k);
      const double before = y - lines.before.at(at);
      const double after = y - lines.after.at(at);
      cost += before * before - after * after;
      all.apart.push_back(std::abs(before - after));
      all.ticks.push_back(edges.first_tick + Ticks(tick));
      all.cost.push_back(cost);
    }
  }
  return all;
}

}  // namespace

FrequencyStep place_step(const EdgeView& view, const PhaseParts& phase,
                         const StepLines& lines) {
  constexpr double kDeviations = 3.0;  // chosen: outside once in 400
  const Handover all = handover_costs(view, phase, lines);
  assert(all.cost.size() >= 2);
  // The last edge before the step: never the last of all.
  const auto end = all.cost.end() - 1;
  const double limit = *std::min_element(all.cost.begin(), end) +
                       kDeviations * kDeviations * lines.variance;
  std::size_t first = all.cost.size(), last = 0;
  for (std::size_t i = 0; i + 1 < all.cost.size(); ++i) {
    if (all.cost[i] > limit && all.apart[i] > lines.shift) continue;
    first = std::min(first, i);
    last = i;
  }
  return {all.ticks[first], all.ticks[last + 1]};
}

}  // namespace clockassay
