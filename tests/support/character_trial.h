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
  double slow = 0.0;          ///< so deep a sinusoid of the frequency, relative
  double slow_turns = 0.0;    ///< of it from the first edge to the last
};

inline constexpr std::array kClockSources = {
    ClockSource{"crystal", CharacterKind::kCrystalLike, 0, 0, 0, 1e-9},
    ClockSource{"RC oscillator", CharacterKind::kRcLike, 0, 0, 1e-3, 1e-4},
    ClockSource{"PLL with spur", CharacterKind::kPllWithSpur, 0, -40},
    ClockSource{"spread spectrum", CharacterKind::kSpreadSpectrum, 5e-3},
    ClockSource{"slewing", CharacterKind::kSlewing, 0, 0, 0, 0, 1e-4},
};

/// How it is sampled.
struct CharacterSetting {
  const char* name = "500 MS/s";
  double sample_rate = 500e6;
  std::size_t cycles = 100'000;
  bool rate_known = true;
};

/// 24 MHz meets 500 MS/s near 5/6 of a sample more each period, 125 MS/s near
/// 5/24, 100 MS/s near 1/6; 120 MS/s stand nearly
/// still.
inline constexpr std::array kCharacterSettings = {
    CharacterSetting{},
    CharacterSetting{"500 MS/s, rate not stated", 500e6, 100'000, false},
    CharacterSetting{"500 MS/s, 20 000 cycles", 500e6, 20'000},
    CharacterSetting{"125 MS/s", 125e6},
    CharacterSetting{"100 MS/s", 100e6},
    CharacterSetting{"100 MS/s, rate not stated", 100e6, 100'000, false},
    CharacterSetting{"120 MS/s", 120e6},
    CharacterSetting{"120 MS/s, 20 000 cycles", 120e6, 20'000},
    CharacterSetting{"120 MS/s, rate not stated", 120e6, 100'000, false},
    CharacterSetting{"100 MS/s, 2 000 cycles", 100e6, 2'000},
};

/// What is said of it.
OscillatorCharacter character_trial(const ClockSource& source,
                                    const CharacterSetting& setting,
                                    std::mt19937_64& random);

}  // namespace clockassay
