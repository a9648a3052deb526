// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <optional>

#include "clockassay/base/electric_units.h"

namespace clockassay {

// Drive of a crystal in a Pierce oscillator, from the swing at the output.
// `leg` is all capacitance from that pin to ground, a probe's included; `rl`
// the crystal's resistance as the current in the legs sees it
// (leg_resistance()). Swings are sines, peak to peak.

/// Current through the crystal: 2 pi F Vrms C.
/// Source: docs/plan.md#drive
Amperes crystal_current_rms(Hertz frequency, Volts swing, Farads leg);

/// RL I².
/// Source: docs/plan.md#drive
Watts drive_power(Ohms rl, Amperes current_rms);

/// The most current, peak to peak, that a drive limit allows: 2 sqrt(2 P/RL).
/// Source: docs/plan.md#drive
Amperes largest_current(Watts limit, Ohms rl);

/// The swing at the crystal's pin that goes with such a current.
/// Source: docs/plan.md#drive
Volts swing_for_current(Hertz frequency, Amperes current, Farads leg);

/// A resistor between output and crystal to begin trials with: the reactance of
/// the capacitor there, 1/(2 pi F C).
/// Source: docs/plan.md#drive
Ohms series_resistor_start(Hertz frequency, Farads leg);

/// Swing at the crystal's pin over that at the amplifier's output, a resistor
/// between them.
/// Model:  at the load resonance the pin shows the amplifier 1/(RL (w C)²), so
///         1/(1 + R RL (w C)²)
/// Assumes that the oscillation stays where the load has it. It moves to make
/// up
///         for the phase of the resistor, and less is left than this
/// Source: docs/plan.md#drive
double series_resistor_ratio(Hertz frequency, Ohms series, Ohms rl, Farads leg);

/// The resistor that brings a drive down to a limit; absent where none is
/// needed.
/// Source: docs/plan.md#drive
std::optional<Ohms> series_resistor_for(Hertz frequency, Watts without,
                                        Watts limit, Ohms rl, Farads leg);

}  // namespace clockassay
