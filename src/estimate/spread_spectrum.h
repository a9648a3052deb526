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

/// What lines are held against. Amplitudes in seconds.
struct SpreadSetting {
  double clock_hz = 0.0;
  double rest_rms = 0.0;     ///< of the time-interval error without lines
  double by_sampling = 0.0;  ///< that sampling may have made
  /// That a line at a frequency may have unseen.
  std::function<double(double frequency)> hidden;
};

/// The strongest line up to 300 kHz and a sixteenth of the clock's frequency is
/// a spread where its amplitude is three times what is left of the
/// time-interval error without lines, three times its uncertainty and more than
/// sampling makes, and its depth 0.1 %.
/// Model:  a sinusoid of amplitude A and rate f moves the relative frequency by
///         2 pi f A either way. A triangle has third harmonics of 1/9
///         (frequency) and is pi²/8 times as deep as its fundamental.
/// In:     lines  amplitudes in seconds
/// Source: docs/spectrum.md#spread-spectrum
std::optional<FoundSpread> find_spread(const std::vector<SpectralLine>& lines,
                                       const SpreadSetting& setting);

}  // namespace clockassay
