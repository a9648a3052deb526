// SPDX-License-Identifier: GPL-3.0-or-later
#include "estimate/step_place.h"

#include <algorithm>
#include <cassert>
#include <cmath>
#include <limits>
#include <optional>

namespace clockassay {
namespace {

/// An edge as the last one before the step.
struct Handover {
  Ticks tick;
  double apart = 0.0;  ///< the lines, at this edge
  /// How much more its square and those before it are about the line before the
  /// step than about the one after it.
  double cost = 0.0;
};

/// Calls visit(edge, the one after it), in order: never with the last of all.
template <class Visit>
void for_each_handover(const EdgeView& view, const PhaseParts& phase,
                       const StepLines& lines, const Visit& visit) {
  std::optional<Handover> last;
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
      const Handover here{edges.first_tick + Ticks(tick),
                          std::abs(before - after), cost};
      if (last) visit(*last, here);
      last = here;
    }
  }
}

}  // namespace

FrequencyStep place_step(const EdgeView& view, const PhaseParts& phase,
                         const StepLines& lines) {
  constexpr double kDeviations = 3.0;  // chosen: outside once in 400
  double least = std::numeric_limits<double>::infinity();
  for_each_handover(view, phase, lines,
                    [&](const Handover& edge, const Handover&) {
                      least = std::min(least, edge.cost);
                    });
  const double limit = least + kDeviations * kDeviations * lines.variance;
  std::optional<FrequencyStep> step;
  for_each_handover(view, phase, lines,
                    [&](const Handover& edge, const Handover& next) {
                      if (edge.cost > limit && edge.apart > lines.shift) return;
                      if (!step) step = FrequencyStep{edge.tick, next.tick};
                      step->after = next.tick;
                    });
  assert(step);
  return *step;
}

}  // namespace clockassay
