// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <functional>
#include <optional>
#include <vector>

#include "clockassay/estimate/tie_spectrum.h"
#include "estimate/spectral_lines.h"

namespace clockassay {

/// A spread among lines that are the clock's own, and which of them it is.
struct FoundSpread {
  SpreadSpectrum spread;
  std::vector<bool> is_harmonic;  ///< line by line
};

/// Amplitude that a line at a frequency may have unseen [s].
using HiddenAmplitude = std::function<double(double frequency)>;

/// The strongest line up to 150 kHz and a sixteenth of the clock's frequency is
/// a spread where it goes up and down 3 thousand times a second or more, by
/// 0.1 % to 10 % in all, its amplitude is five times its uncertainty, and noise
/// makes no such line.
/// Model:  a sinusoid of amplitude A and rate f moves the relative frequency by
///         2 pi f A either way. A triangle has third harmonics of 1/9
///         (frequency) and is pi²/8 times as deep as its fundamental. Harmonics
///         d_n that all peak at once, as those of a triangle, a sine, and
///         profiles with cusps do, are 2 sum d_n deep, and no profile with
///         these is deeper; beyond the last one seen they fall as 1/n²
/// In:     lines   amplitudes in seconds
///         slower  largest amplitude below the slowest lines [s]
/// Source: docs/spectrum.md#spread-spectrum
std::optional<FoundSpread> find_spread(const std::vector<SpectralLine>& lines,
                                       double clock_hz, double slower,
                                       const HiddenAmplitude& hidden_at);

}  // namespace clockassay
