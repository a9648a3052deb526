// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <cstddef>
#include <cstdint>
#include <functional>
#include <span>
#include <vector>

#include "clockassay/base/parallel.h"

namespace clockassay {

/// out[i] = value at + i of a series, NaN where it is not known. Several
/// threads read at once.
using SeriesReader = std::function<void(std::int64_t at, std::span<double>)>;

/// How a series is cut up.
struct SegmentPlan {
  std::int64_t count = 0;    ///< values of the series
  std::size_t segment = 0;   ///< values of a segment: a power of two, >= 16
  double sample_rate = 1.0;  ///< values a second
};

/// The mean of the periodograms of overlapping segments.
struct AveragedPeriodogram {
  /// One-sided power spectral density [units of the series squared per Hz]; bin
  /// i is at i * bin_hz, the last one at half the sample rate.
  std::vector<double> density;
  double bin_hz = 0.0;
  double resolution_hz = 0.0;  ///< equivalent noise bandwidth
  std::int64_t segments = 0;   ///< averaged
  std::int64_t left_out = 0;   ///< too many values are not known
  /// As many independent segments of steady noise scatter as much.
  double averages = 0.0;
  /// How far the slope of a segment is off the mean of all at most, in units of
  /// the series per value.
  double slope_spread = 0.0;
};

/// Welch's method: segments that overlap by half, each without its mean and its
/// line, windowed by SpectralWindow.
/// Values that are not known are interpolated by a line where a segment lacks
/// one in 64 at most; else the segment is left out.
/// In:     count >= segment
/// Out:    the same bits for any threads: segments are summed in fixed parts,
///         these in order. Density is empty if every segment is left out.
/// Cost:   O(count log segment), up to 64 spectra of memory
/// Source: Welch, IEEE Trans. Audio Electroacoust. 15(2), 1967
AveragedPeriodogram average_periodograms(const SeriesReader& read,
                                         const SegmentPlan& plan,
                                         const ParallelFor& parallel_for);

}  // namespace clockassay
