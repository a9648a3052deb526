// SPDX-License-Identifier: GPL-3.0-or-later
#include "clockassay/plan/pull_curve.h"

#include <algorithm>
#include <utility>

#include "clockassay/oscillator/crystal_load.h"

namespace clockassay {
namespace {

std::pair<Farads, Farads> loads_of(const LoadPlan& plan) {
  constexpr double kRoom = 0.25;  // chosen: to see how steep it is
  Farads low = plan.input.crystal_load, high = low;
  for (const auto* effect :
       {&plan.chosen, &plan.bare, &plan.closest, &plan.fitted}) {
    if (!effect->has_value()) continue;
    low = std::min(low, (*effect)->load - (*effect)->load_uncertainty);
    high = std::max(high, (*effect)->load + (*effect)->load_uncertainty);
  }
  const Farads least = 0.1 * plan.input.crystal_load;
  return {std::max(least, (1.0 - kRoom) * low), (1.0 + kRoom) * high};
}

}  // namespace

std::vector<PullPoint> pull_curve(const LoadPlan& plan) {
  constexpr int kSteps = 120;  // chosen: smooth to the eye
  const auto [low, high] = loads_of(plan);
  const Farads asked = plan.input.crystal_load;
  std::vector<PullPoint> curve;
  for (int i = 0; i <= kSteps; ++i) {
    const Farads load = low + (static_cast<double>(i) / kSteps) * (high - low);
    PullPoint point;
    point.load = load;
    point.pull = load_pull(plan.crystal.middle, asked, load);
    point.low = point.high = point.pull;
    for (const MotionalCrystal& crystal : plan.crystal.outline) {
      const Ppm pull = load_pull(crystal, asked, load);
      point.low = std::min(point.low, pull);
      point.high = std::max(point.high, pull);
    }
    curve.push_back(point);
  }
  return curve;
}

}  // namespace clockassay
