// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <cstddef>
#include <optional>
#include <vector>

#include "estimate/sampling_images.h"
#include "estimate/spectral_lines.h"

namespace clockassay {

/// A line that sampling may have made.
struct ImageLine {
  SpectralLine line;
  ImageName name;  ///< of_spur: by the order of SortedLines::spurs
};

/// A line of the clock's own, as far as that can be told.
struct SpurLine {
  SpectralLine line;
  /// Images may be so much of it that it may be no more than they.
  std::optional<ImageName> perhaps = {};
};

/// Strongest first.
struct SortedLines {
  std::vector<SpurLine> spurs;
  std::vector<ImageLine> images;
  std::vector<SpectralLine> unsorted;  ///< not known which
  double unsorted_up_to = 0.0;         ///< amplitude
};

/// Amplitudes.
struct LineLimits {
  double least = 0.0;        ///< of the weakest line there may be
  double by_sampling = 0.0;  ///< of the strongest that sampling makes
};

/// Tells lines of the clock's own from those that sampling makes of it. The
/// strongest first: a line is an image where what images may be there is as
/// large as it, but for three standard uncertainties; else it is a spur, and
/// its sidelines of the images count. Of a spur and sidelines of its size that
/// of the lowest frequency is taken for the clock's own.
/// In:     clock  absent: how it is sampled is not known; lines are spurs where
///         they are far above what sampling makes, else it is not known which
/// Source: docs/spectrum.md#sampling-images
SortedLines sort_lines(std::vector<SpectralLine> lines,
                       const std::optional<SampledClock>& clock,
                       const LineLimits& limits);

}  // namespace clockassay
