// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <optional>

#include "clockassay/base/electric_units.h"

namespace clockassay {

/// What a Pierce oscillator hangs on its crystal: all capacitance from its
/// input and from its output pin to ground, board, pin and probe included, and
/// from pin to pin, without the crystal's own C0.
struct OscillatorLegs {
  Farads input;
  Farads output;
  Farads across = Farads(0.0);
};

/// Two equal legs that are that load: 2 CL each, nothing across.
OscillatorLegs equal_legs(Farads load);

/// The load that legs are: Ca Cb/(Ca + Cb) + Cx.
/// Source: docs/load.md#network
Farads load_of_legs(const OscillatorLegs& legs);

/// The resistance of a crystal at its load resonance, R1 (1 + C0/CL)².
/// In:     r1  the motional resistance; load > 0
/// Source: docs/plan.md#drive
Ohms load_resonance_resistance(Ohms r1, Farads c0, Farads load);

/// The same as the current in the legs sees it: what is from pin to pin counts
/// as C0 then.
Ohms leg_resistance(Ohms r1, Farads c0, const OscillatorLegs& legs);

/// The transconductance below which no oscillation grows.
/// Model:  4 R1 w² (C0 + CL)² (Ca + Cb)²/(4 Ca Cb), R1 the motional resistance
/// Source: docs/plan.md#drive
Siemens critical_transconductance(Hertz frequency, Ohms r1, Farads c0,
                                  const OscillatorLegs& legs);

/// What the amplifier sets against R1: the negative of the real part of the
/// impedance that the motional arm sees, exactly, with C0 in it.
/// Model:  g/(A² + (w C3 g)²),  g = gm/(w² Ca Cb),  C3 = C0 + Cx,
///         A = 1 + C3 (Ca + Cb)/(Ca Cb)
/// Assumes an amplifier without delay and output conductance
/// Source: docs/plan.md#drive
Ohms negative_resistance(Hertz frequency, Siemens gm, Farads c0,
                         const OscillatorLegs& legs);

/// What is between an amplifier and the crystal: its own output resistance to
/// ground, and a resistor in series.
struct OutputPath {
  Ohms output;
  Ohms series = Ohms(0.0);
};

/// negative_resistance() of an amplifier that is not ideal.
/// Model:  three nodes: input pin, output pin, and the amplifier's own output,
///         with `output` to ground there and `series` to the output pin; the
///         same as gm Ro/(Ro + Rs) beside 1/(Ro + Rs) from the output pin
/// Assumes an amplifier without delay, and no capacitance at its own output
/// Source: docs/plan.md#drive
Ohms negative_resistance_behind(Hertz frequency, Siemens gm, Farads c0,
                                const OscillatorLegs& legs,
                                const OutputPath& path);

/// The gm of such an amplifier, up to `gm`, from which on it makes more than
/// R1; absent: at `gm` it does not.
std::optional<Siemens> critical_behind(Hertz frequency, Ohms r1, Siemens gm,
                                       Farads c0, const OscillatorLegs& legs,
                                       const OutputPath& path);

/// The most that is for any gm: 1/(2 A w C3). A crystal with more R1 than that
/// starts with no amplifier at all.
/// Source: docs/plan.md#drive
Ohms most_negative_resistance(Hertz frequency, Farads c0,
                              const OscillatorLegs& legs);

/// The gm of that; with more, C3 shorts the amplifier and less is left.
/// Model:  w² Ca Cb A/(w C3)
/// Source: docs/plan.md#drive
Siemens best_transconductance(Hertz frequency, Farads c0,
                              const OscillatorLegs& legs);

/// The transconductances with which an ideal amplifier starts a crystal.
struct StartingGain {
  Siemens least;
  Siemens most;  ///< with more, C3 shorts the amplifier
};

/// Where negative_resistance() is R1, exactly: the least is what
/// critical_transconductance() is to first order, at most twice that.
/// Model:  g = (1 ± sqrt(1 - (R1/R'max)²))/(2 R1 (w C3)²), gm = g w² Ca Cb
/// Out:    absent where R1 is R'max or more: none starts
/// Source: docs/plan.md#drive
std::optional<StartingGain> starting_gain(Hertz frequency, Ohms r1, Farads c0,
                                          const OscillatorLegs& legs);

/// L1 of a crystal that has C1 at its series resonance: 1/(w² C1).
/// Source: docs/load.md#symbols
Henries motional_inductance(Hertz series_resonance, Farads c1);

/// How fast the oscillation grows: by e in 2 L1/(R' - R1).
/// In:     negative > r1
/// Source: docs/plan.md#drive
Seconds growth_time(Henries l1, Ohms r1, Ohms negative);

}  // namespace clockassay
