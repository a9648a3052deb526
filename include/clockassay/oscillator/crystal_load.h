// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <optional>

#include "clockassay/base/units.h"

namespace clockassay {

/// A crystal near its resonance fs = 1/(2 pi sqrt(L1 C1)): the motional arm
/// L1-C1, and the capacitance between its own terminals beside it. Losses are
/// left out: they set the gain an oscillator needs, hardly its frequency.
struct MotionalCrystal {
  Farads c1;  ///< motional; some femtofarads
  Farads c0;  ///< shunt; C1 < C0
};

/// Load-resonance frequency over the series resonance: fL/fs.
/// Model:  fL = fs sqrt(1 + C1/(C0 + CL)); the reactance of the crystal is
///         then the opposite of that of CL. CL excludes C0.
/// In:     load >= 0; at 0 this is fa/fs, the parallel resonance
/// Source: docs/load.md#pull
double load_resonance(const MotionalCrystal& crystal, Farads load);

/// By how much the frequency changes when the load does, exactly:
/// fL(to)/fL(from) - 1. More load is slower, so it is negative for to > from.
/// Source: docs/load.md#pull
Ppm load_pull(const MotionalCrystal& crystal, Farads from, Farads to);

/// What any load at all can do, against the frequency at one load.
struct PullLimits {
  Ppm slowest;  ///< an infinite load: the series resonance
  Ppm fastest;  ///< none: the parallel resonance
};
PullLimits load_pull_limits(const MotionalCrystal& crystal, Farads from);

/// The inverse of load_pull(): the load that pulls the frequency by `pull`
/// from where it is at `from`. Absent at and below the series resonance and
/// above the parallel one: then it is never the load.
/// Source: docs/load.md#load-from-the-frequency
std::optional<Farads> load_after_pull(const MotionalCrystal& crystal,
                                      Farads from, Ppm pull);

/// Change per farad of load, in ppm of fs: negative.
/// Model:  S = -C1/(2 (C0 + CL)^2), the slope of C1/(2(C0 + CL)); it misses
///         that of load_pull() by a factor 1 + C1/(C0 + CL)
double load_sensitivity_ppm_per_f(const MotionalCrystal& crystal, Farads load);

}  // namespace clockassay
