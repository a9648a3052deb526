// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <cstddef>
#include <cstdint>
#include <optional>

#include "clockassay/base/parallel.h"
#include "clockassay/base/result.h"
#include "estimate/periodogram.h"
#include "estimate/spectral_lines.h"
#include "estimate/spectral_window.h"

namespace clockassay {

/// One averaged periodogram, and what of it is used.
struct SpectrumScale {
  explicit SpectrumScale(std::size_t segment) : window(segment) {}

  SpectralWindow window;
  AveragedPeriodogram periodogram;
  /// Unit of the series squared per Hz; of means, as if they were none.
  SearchedDensity searched;
  std::int64_t cycles = 1;      ///< from one value to the next
  std::size_t shown_first = 0;  ///< first bin that says anything
};

/// All frequencies in segments of one value a cycle, those below coarse's last
/// bin in segments of means.
struct SpectrumScales {
  SpectrumScale fine;
  std::optional<SpectrumScale> coarse;

  /// The one that sees the lowest frequencies, and the weakest lines.
  const SpectrumScale& lowest() const { return coarse ? *coarse : fine; }

  std::size_t searched() const {
    return fine.searched.searched() +
           (coarse ? coarse->searched.searched() : 0);
  }
};

/// Segments are the longest of which the series has sixteen, up to `longest`;
/// of a series of 64 of these the low frequencies are seen through means, of
/// which there are sixteen segments, too.
/// In:     rate  values a second; least  below it nothing is told from rounding
///         [units squared per Hz]
/// Errors: kTooFewEdges below 1088 values, or when no segment is whole enough
Result<SpectrumScales> form_scales(const SeriesReader& read, std::int64_t count,
                                   double rate, double least,
                                   std::size_t longest,
                                   const ParallelFor& parallel_for);

}  // namespace clockassay
