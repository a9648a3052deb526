// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <cstdint>
#include <optional>
#include <string>
#include <vector>

#include "clockassay/base/units.h"
#include "clockassay/estimate/stability.h"
#include "clockassay/estimate/tie_spectrum.h"

namespace clockassay {

/// What a clock behaves like. It is no proof of what it is.
enum class CharacterKind {
  kCannotTell,
  kCrystalLike,  ///< a resonator of high Q: what wanders is next to nothing
  kRcLike,       ///< no such resonator: every period adds to the wander
  kPllWithSpur,  ///< a steady clock with lines, as dividers and fractions make
  kSpreadSpectrum,  ///< modulated on purpose, and periodically
  kSlewing,         ///< on its way from one frequency to another: not locked
};

/// How much the frequency wanders, at the longest tau at which that shows.
struct CharacterWander {
  Seconds tau;
  double mdev = 0.0;      ///< modified Allan deviation
  double mdev_low = 0.0;  ///< its 95 % interval, as sampled
  double mdev_high = 0.0;
  /// Sampling may have made so much of mdev, or have hidden so much.
  double sampling_bound = 0.0;
  std::optional<NoiseKind> noise;  ///< absent: no kind of noise fits
  std::optional<Ppm> drift;  ///< from the first edge to the last, if steady
  Ppm drift_sampling_bound;  ///< sampling may have made so much of it
};

struct OscillatorCharacter {
  CharacterKind kind = CharacterKind::kCannotTell;
  /// The numbers that say so, or why they do not; whole sentences.
  std::vector<std::string> evidence;
  std::optional<CharacterWander> wander = {};  ///< absent: too few cycles
};

/// Above the first, with noise of the frequency, a clock is RC-like; below the
/// second crystal-like: modified Allan deviation at the longest tau, by the
/// nearer end of its 95 % interval, and whatever sampling does. Common
/// practice, no source: an oscillator without a resonator keeps its frequency
/// to some 1e-5 over milliseconds, one with a crystal to 1e-8 and better.
inline constexpr double kRcLikeAbove = 5e-7;
inline constexpr double kCrystalLikeBelow = 1e-7;

struct CharacterInput {
  const Stability* stability = nullptr;
  /// Absent: lines were not looked for, and are not excluded.
  const TieSpectrum* spectrum = nullptr;
  std::int64_t cycles = 0;  ///< from the first rising edge to the last
  Seconds period;
  Seconds tie_rms;  ///< of the edges about their line
  Seconds window;   ///< within which an edge is known
  /// Of the samples; absent: it is not known how they meet the clock.
  std::optional<Seconds> sample_interval = {};
};

/// In: stability not null
/// Source: docs/stability.md#character
OscillatorCharacter describe_character(const CharacterInput& input);

}  // namespace clockassay
