// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "clockassay/base/units.h"

namespace clockassay {

/// The two capacitors of a crystal, one from each of its pins to ground.
struct CapacitorPair {
  Farads a;
  Farads b;
  bool operator==(const CapacitorPair&) const = default;
};

/// What else the crystal sees: from each pin to ground (pin and trace), and
/// from pin to pin. What a data sheet calls stray "across" the crystal is the
/// latter; 4 pF across are as much as 8 pF from each pin.
struct Stray {
  Farads pin_a;
  Farads pin_b;
  Farads across;
};

/// The load the crystal sees.
/// Model:  CL = (Ca+Pa)(Cb+Pb)/(Ca+Pa+Cb+Pb) + Cx; C0 of the crystal itself is
///         not part of it
/// In:     capacitances >= 0; legs without any are open: Cx alone
/// Source: docs/load.md#network
Farads load_of(const CapacitorPair& capacitors, const Stray& stray);

/// How much of that is open because each capacitor is only known to a
/// tolerance (a fraction: 0.05).
struct LoadSpread {
  Farads worst;     ///< both off by all of it, the same way
  Farads standard;  ///< k = 1; independent, rectangular
};
LoadSpread load_spread(const CapacitorPair& capacitors, const Stray& stray,
                       double tolerance);

/// The stray that makes these capacitors that load; negative where they alone
/// are more. Across: what is missing. Per pin: the same from each pin, which
/// solves (Ca+P)(Cb+P) = CL (Ca+Cb+2P).
Farads stray_across_for(const CapacitorPair& capacitors, Farads load);
Farads stray_per_pin_for(const CapacitorPair& capacitors, Farads load);

}  // namespace clockassay
