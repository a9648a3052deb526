// SPDX-License-Identifier: GPL-3.0-or-later
#include "clockassay/plan/load_plan.h"

#include <algorithm>
#include <cmath>

#include "clockassay/oscillator/capacitor_choice.h"
#include "clockassay/oscillator/crystal_load.h"
#include "clockassay/uncertainty/error_distribution.h"

namespace clockassay {
namespace {

// Megahertz, where nothing is said: the crystals that take two capacitors and
// are exchanged most.
constexpr Hertz kSomeMegahertz(12e6);

// 8 to 15 pF is what probes add (read in an MCU maker's note).
constexpr Farads kProbe(10e-12);

constexpr double kPicofarad = 1e-12;

Stray stray_at(const StatedStray& stray, double part) {
  const Farads c = stray.middle + part * stray.half_width;
  if (stray.per_pin) return {c, c, Farads(0.0)};
  return {Farads(0.0), Farads(0.0), c};
}

// U of the load: what stray and capacitors leave open.
Farads load_uncertainty(const CapacitorPair& pair, const LoadPlan& plan) {
  const Farads rectangle = 0.5 * (load_of(pair, stray_at(plan.stray, 1.0)) -
                                  load_of(pair, stray_at(plan.stray, -1.0)));
  const LoadSpread spread = load_spread(pair, stray_at(plan.stray, 0.0),
                                        plan.input.capacitor_tolerance);
  // In picofarads: the solver looks for numbers near one.
  const ErrorDistribution d{rectangle.value() / kPicofarad,
                            spread.standard.value() / kPicofarad};
  const Farads most = rectangle + spread.worst;
  if (!is_proper(d)) return most;
  const Farads expanded(expanded_half_width(d, plan.input.coverage) *
                        kPicofarad);
  return std::min(expanded, most);
}

// The pull over load ± U and the crystals that it may be.
void add_pull(const LoadPlan& plan, LoadEffect& effect) {
  const Farads nominal = plan.input.crystal_load;
  effect.pull = load_pull(plan.crystal.middle, nominal, effect.load);
  effect.pull_low = effect.pull;
  effect.pull_high = effect.pull;
  const Farads least =
      std::max(Farads(0.0), effect.load - effect.load_uncertainty);
  for (const MotionalCrystal& crystal : plan.crystal.outline) {
    effect.pull_low = std::min(
        effect.pull_low,
        load_pull(crystal, nominal, effect.load + effect.load_uncertainty));
    effect.pull_high =
        std::max(effect.pull_high, load_pull(crystal, nominal, least));
  }
  effect.pull_uncertainty =
      std::max(effect.pull_high - effect.pull, effect.pull - effect.pull_low);
}

LoadEffect effect_of(const CapacitorPair& pair, const LoadPlan& plan) {
  const Stray stray = stray_at(plan.stray, 0.0);
  LoadEffect effect;
  effect.capacitors = pair;
  effect.load = load_of(pair, stray);
  effect.load_uncertainty = load_uncertainty(pair, plan);
  add_pull(plan, effect);
  const double a = (pair.a + stray.pin_a).value();
  const double b = (pair.b + stray.pin_b).value();
  if (a * b > 0.0) effect.gain_factor = (a + b) * (a + b) / (4.0 * a * b);
  return effect;
}

void add_choice(LoadPlan& plan) {
  const std::optional<CapacitorChoice> choice = choose_capacitors(
      {plan.input.crystal_load, stray_at(plan.stray, 0.0),
       plan.input.capacitor_tolerance, plan.input.series, plan.input.fitted});
  if (!choice) return;
  plan.chosen = effect_of(choice->preferred, plan);
  if (choice->closest == choice->preferred) return;
  const LoadEffect closest = effect_of(choice->closest, plan);
  // Nearer by more than rounding.
  constexpr double kNearer = 1e-9;
  const auto off = [&plan](const LoadEffect& e) {
    return std::abs(e.load / plan.input.crystal_load - 1.0);
  };
  if (off(closest) < off(*plan.chosen) - kNearer) plan.closest = closest;
}

// Where no pair is found because the stray is nearly the load, or more.
void add_bare(LoadPlan& plan) {
  // The smallest capacitors there are to choose from, two in series.
  constexpr Farads kSmallestPair(0.5e-12);
  const LoadEffect bare = effect_of(CapacitorPair{}, plan);
  if (bare.load + kSmallestPair >= plan.input.crystal_load) plan.bare = bare;
}

// Two of the value below those chosen, and two of the value above; of an
// unequal pair two of either.
void add_beside(LoadPlan& plan) {
  const Farads low =
      std::min(plan.chosen->capacitors.a, plan.chosen->capacitors.b);
  const Farads high =
      std::max(plan.chosen->capacitors.a, plan.chosen->capacitors.b);
  // A value as chosen, to rounding.
  constexpr double kSame = 1e-6;
  if (high > (1.0 + kSame) * low) {
    plan.beside.push_back(effect_of({low, low}, plan));
    plan.beside.push_back(effect_of({high, high}, plan));
    return;
  }
  const std::vector<Farads> values =
      preferred_values(plan.input.series, 0.5 * low, 2.0 * low);
  const auto below =
      std::find_if(values.rbegin(), values.rend(),
                   [low](Farads v) { return v < (1.0 - kSame) * low; });
  if (below != values.rend()) {
    plan.beside.push_back(effect_of({*below, *below}, plan));
  }
  const auto above =
      std::find_if(values.begin(), values.end(),
                   [low](Farads v) { return v > (1.0 + kSame) * low; });
  if (above != values.end()) {
    plan.beside.push_back(effect_of({*above, *above}, plan));
  }
}

void add_probe(LoadPlan& plan) {
  const LoadEffect& on = plan.chosen ? *plan.chosen : *plan.fitted;
  // A probe beside an open leg changes nothing here, but on a board it does.
  if (!on.gain_factor) return;
  // On that of the legs where it pulls more.
  for (Farads Stray::*pin : {&Stray::pin_a, &Stray::pin_b}) {
    Stray probed = stray_at(plan.stray, 0.0);
    probed.*pin = probed.*pin + kProbe;
    const Ppm pull =
        load_pull(plan.crystal.middle, on.load, load_of(on.capacitors, probed));
    if (!plan.probe ||
        std::abs(pull.value()) > std::abs(plan.probe->pull.value())) {
      plan.probe = {kProbe, pull};
    }
  }
}

void add_sensitivity(LoadPlan& plan) {
  const auto slope = [&plan](const MotionalCrystal& crystal) {
    return kPicofarad *
           load_sensitivity_ppm_per_f(crystal, plan.input.crystal_load);
  };
  plan.sensitivity_ppm_per_pf = slope(plan.crystal.middle);
  plan.sensitivity_low = plan.sensitivity_ppm_per_pf;
  plan.sensitivity_high = plan.sensitivity_ppm_per_pf;
  for (const MotionalCrystal& crystal : plan.crystal.outline) {
    plan.sensitivity_low = std::min(plan.sensitivity_low, slope(crystal));
    plan.sensitivity_high = std::max(plan.sensitivity_high, slope(crystal));
  }
}

}  // namespace

StatedStray typical_stray() {
  // A tight layout has 2.5 pF (read in an MCU maker's note), one table reckons
  // with 1.5 (1 in the part, 1 from each pin); the upper end is chosen beyond.
  return {Farads(3e-12), Farads(2e-12), false};
}

LoadPlan plan_load(const LoadPlanInput& input) {
  LoadPlan plan;
  plan.input = input;
  plan.stray = input.stray.value_or(typical_stray());
  plan.maybe_overtone =
      input.frequency.value_or(kSomeMegahertz) >= kOvertonesFrom;
  plan.crystal = crystal_range(input.c0, input.c1,
                               input.frequency.value_or(kSomeMegahertz));
  add_choice(plan);
  if (plan.chosen) {
    add_beside(plan);
  } else {
    add_bare(plan);
  }
  if (input.fitted) plan.fitted = effect_of(*input.fitted, plan);
  if (plan.chosen || plan.fitted) add_probe(plan);
  add_sensitivity(plan);
  return plan;
}

}  // namespace clockassay
