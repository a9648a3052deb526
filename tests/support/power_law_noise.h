// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <cstddef>
#include <random>
#include <vector>

namespace clockassay {

/// Noise of the edges' places beside white jitter.
enum class PowerLaw {
  kNone,
  kFlickerPhase,
  kWhiteFrequency,
  kFlickerFrequency,
  kWalkFrequency
};

/// Power-law noise of n edges, of the given rms about its own line.
/// Flicker is a sum of first-order walks, one an octave, which makes 1/f within
/// 0.4 dB between the ends.
std::vector<double> power_law_noise(PowerLaw kind, std::size_t n, double rms,
                                    std::mt19937_64& random);

}  // namespace clockassay
