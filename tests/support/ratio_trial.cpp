// SPDX-License-Identifier: GPL-3.0-or-later
#include "support/ratio_trial.h"

#include <cmath>

namespace clockassay {

std::optional<ClockRatio> seen_ratio(const SampledEdges& clock,
                                     const SampledEdges& reference) {
  constexpr std::size_t kBlockCycles = 2048;
  const TestStretch a =
      stretch_from_edges(clock.rises, clock.falls, kBlockCycles);
  const TestStretch b =
      stretch_from_edges(reference.rises, reference.falls, kBlockCycles);
  const TickScale scale{Rational(1), Rational(1), Rational(1)};
  const auto views = common_window({EdgeView(a.stretch), scale, Ticks(0)},
                                   {EdgeView(b.stretch), scale, Ticks(0)});
  if (!views) return std::nullopt;
  const auto c = estimate_clock(views->clock.view, scale, serial_for);
  const auto r = estimate_clock(views->reference.view, scale, serial_for);
  if (!c || !r) return std::nullopt;
  return relate_clocks(*views, *c, *r, serial_for);
}

double half_width_of(const ClockRatio& ratio) {
  return std::hypot(ratio.clock_half_width, ratio.reference_half_width);
}

}  // namespace clockassay
