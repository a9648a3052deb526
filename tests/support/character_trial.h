// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <array>
#include <cstddef>
#include <random>

#include "clockassay/estimate/oscillator_character.h"

namespace clockassay {

/// A clock of 24 MHz by where its edges go, and what it is to be told as. All
/// have white jitter of 10 ps on every edge. Invented, of sizes that are
/// common.
struct ClockSource {
  const char* name;
  CharacterKind kind;
  double spread = 0.0;        ///< depth of a triangle at 31 kHz, relative
  double spur_dbc = 0.0;      ///< of one sideband at 100 kHz; 0: none
  double period_noise = 0.0;  ///< of each period for itself, relative rms
  double walk = 0.0;          ///< flicker of the frequency, relative rms
  double drift = 0.0;         ///< relative, from the first edge to the last
};

inline constexpr std::array kClockSources = {
    ClockSource{"crystal", CharacterKind::kCrystalLike, 0, 0, 0, 1e-9},
    ClockSource{"RC oscillator", CharacterKind::kRcLike, 0, 0, 1e-3, 1e-4},
    ClockSource{"PLL with spur", CharacterKind::kPllWithSpur, 0, -40},
    ClockSource{"spread spectrum", CharacterKind::kSpreadSpectrum, 5e-3},
    ClockSource{"slewing", CharacterKind::kSlewing, 0, 0, 0, 0, 1e-4},
};

/// What is said of it, sampled at 500 MS/s.
OscillatorCharacter character_trial(const ClockSource& source,
                                    std::size_t cycles,
                                    std::mt19937_64& random);

}  // namespace clockassay
