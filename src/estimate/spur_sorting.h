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

/// Strongest first.
struct SortedLines {
  std::vector<SpectralLine> spurs;
  std::vector<ImageLine> images;
};

/// Tells lines of the clock's own from those that sampling makes of it. The
/// strongest first: a line is an image where what images may be there is as
/// large as it, but for three standard uncertainties; else it is a spur, and
/// its sidelines of the images count. Of a spur and sidelines of its size that
/// of the lowest frequency is taken for the clock's own.
/// In:     clock  absent: how it is sampled is not known, all are spurs
///         least  amplitude of the weakest line there may be
/// Source: docs/spectrum.md#sampling-images
SortedLines sort_lines(std::vector<SpectralLine> lines,
                       const std::optional<SampledClock>& clock, double least);

}  // namespace clockassay
