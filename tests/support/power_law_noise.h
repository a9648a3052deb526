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

/// Phases of power-law noise of a known density, one apart: white ones of
/// variance 1 through (1 - z^-1)^-((2 - alpha)/2), so that the frequency has
/// the one-sided density h f^alpha for small f, h = 2 (2 pi)^alpha; up to half
/// the rate it is that times (pi f / sin(pi f))^(2 - alpha).
/// In:     alpha  2 white phase ... -2 walking frequency
/// Source: N. J. Kasdin, T. Walter, "Discrete simulation of power law noise",
///         IEEE Frequency Control Symposium 1992
std::vector<double> discrete_power_law_noise(int alpha, std::size_t n,
                                             std::mt19937_64& random);

}  // namespace clockassay
