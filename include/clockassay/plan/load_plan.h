// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <optional>
#include <vector>

#include "clockassay/base/units.h"
#include "clockassay/oscillator/load_network.h"
#include "clockassay/oscillator/preferred_values.h"
#include "clockassay/oscillator/typical_crystal.h"

namespace clockassay {

/// A stray capacitance as stated: a middle, and how far it may be off.
struct StatedStray {
  Farads middle;
  Farads half_width = Farads(0.0);
  bool per_pin = false;  ///< from each pin to ground; else pin to pin
};

struct LoadPlanInput {
  Farads crystal_load;  ///< what the crystal is made for
  std::optional<StatedStray> stray = {};
  std::optional<Farads> c0 = {};
  std::optional<Farads> c1 = {};
  std::optional<CapacitorPair> fitted = {};
  ESeries series = ESeries::kE24;
  /// Common practice, no source: C0G parts for this are sold at ±5 %.
  double capacitor_tolerance = 0.05;
  bool tolerance_stated = false;
  std::optional<Hertz> frequency = {};  ///< absent: some megahertz
  double coverage = 0.95;
};

/// The stray of a board of which nothing is known, pin to pin: 1 to 5 pF.
/// Source: docs/plan.md#load
StatedStray typical_stray();

/// What two capacitors make of the load and of the frequency. The pull is
/// against the crystal in the load it is made for; positive is fast.
struct LoadEffect {
  CapacitorPair capacitors;
  Farads load;
  Farads load_uncertainty;  ///< U, of the capacitors and the stray
  Ppm pull;                 ///< of the middle crystal at `load`
  /// Over load ± U and over all of the range of C0 and C1; not symmetric.
  Ppm pull_low;
  Ppm pull_high;
  Ppm pull_uncertainty;  ///< the further of the two from `pull`
  /// Gain asked for, over that of equal legs, by all that is from each pin to
  /// ground; absent: a leg is open, and no gain is enough.
  std::optional<double> gain_factor;
};

/// A probe on a pin of the crystal.
struct ProbeEffect {
  Farads probe;
  Ppm pull;  ///< against the same without it
};

struct LoadPlan {
  LoadPlanInput input;
  StatedStray stray;  ///< as stated, or typical
  CrystalRange crystal;
  /// To fit; absent where the stray alone is the wanted load or more, or where
  /// no capacitors from 1 pF to 1 nF make it.
  std::optional<LoadEffect> chosen;
  /// Without capacitors; only where none are chosen and the load falls short of
  /// that by less than the smallest pair, if at all.
  std::optional<LoadEffect> bare;
  /// The nearest pair of all, where that is another.
  std::optional<LoadEffect> closest;
  std::optional<LoadEffect> fitted;
  std::vector<LoadEffect> beside;  ///< equal ones, below and above the chosen
  /// On the pin where it pulls more, capacitors as chosen; absent where the
  /// other leg is open.
  std::optional<ProbeEffect> probe;
  bool maybe_overtone = false;          ///< by the frequency
  double sensitivity_ppm_per_pf = 0.0;  ///< at the wanted load; negative
  double sensitivity_low = 0.0;         ///< over the range of C0 and C1
  double sensitivity_high = 0.0;
};

/// Load capacitors for a crystal, what they will do, and what those that are
/// there do.
/// Model:  capacitors independent and rectangular within their tolerance, the
///         stray rectangular; U of the load from both, at most what all of
///         them together can do
/// Source: docs/plan.md#load
LoadPlan plan_load(const LoadPlanInput& input);

}  // namespace clockassay
