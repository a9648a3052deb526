// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <cstddef>
#include <span>
#include <vector>

#include "estimate/spectral_window.h"

namespace clockassay {

/// What is left of a power spectral density without its lines.
struct SpectralFloor {
  std::vector<double> level;  ///< expectation, bin by bin
  /// Each level scatters as a mean of squares of so many normal numbers.
  double dof = 0.0;
};

/// A running median of the density after its trend (medians of bands half an
/// octave wide, joined in logarithms) is divided off, so that a floor that
/// falls as a power of the frequency moves no median. Divided by the median of
/// the mean of `averages` exponentials, which is less than their mean.
/// In:     density > 0 from bin `first` on; first + 32 <= density.size()
/// Source: docs/spectrum.md#floor
SpectralFloor find_floor(std::span<const double> density, std::size_t first,
                         double averages, const SpectralWindow& window);

}  // namespace clockassay
