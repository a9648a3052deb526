// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

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

/// The strongest line is a spread where its amplitude is three times what is
/// left of the time-interval error without lines and three times its
/// uncertainty, and its depth 100 ppm.
/// Model:  a sinusoid of amplitude A and rate f moves the relative frequency by
///         2 pi f A either way. A triangle has third harmonics of 1/9
///         (frequency) and is pi²/8 times as deep as its fundamental.
/// In:     lines  amplitudes in seconds; hidden  amplitude that may go unseen
/// at
///         three times the rate of the strongest
/// Source: docs/spectrum.md#spread-spectrum
std::optional<FoundSpread> find_spread(const std::vector<SpectralLine>& lines,
                                       double clock_hz, double rest_rms,
                                       double hidden);

}  // namespace clockassay
