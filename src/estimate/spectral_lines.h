// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <cstddef>
#include <vector>

#include "estimate/spectral_floor.h"
#include "estimate/spectral_window.h"

namespace clockassay {

/// A density, and which bins of it are looked at for lines.
struct SearchedDensity {
  /// Power spectral density, every bin as if it had a mirror image, that at
  /// half the sample rate too.
  std::vector<double> density;
  SpectralFloor floor;
  double bin_hz = 0.0;
  double averages = 0.0;     ///< of the density, effective
  std::size_t segments = 0;  ///< the same, as they overlap
  std::size_t first = 0;     ///< bins looked at, both ends
  std::size_t last = 0;
  bool to_half_rate = false;  ///< the last bin is half the sample rate

  std::size_t searched() const { return last >= first ? last - first + 1 : 0; }
};

/// A sinusoid that stands out of the floor.
struct SpectralLine {
  double frequency = 0.0;                ///< [Hz]
  double standard_uncertainty_hz = 0.0;  ///< of it
  double amplitude = 0.0;                ///< peak, unit of the series
  double amplitude_uncertainty = 0.0;    ///< standard
  double false_alarm = 0.0;              ///< see find_lines
  double bin_hz = 0.0;                   ///< of the density it is from
};

/// How far a line lies from its largest bin [bins], -1/2 … 1/2.
/// In: power of the bin before, the largest and the one after, floor taken off
/// Out: the parabola through the three logarithms; then the same with what that
///      is off for this window taken off
double parabola_offset(double before, double top, double after);
double line_offset(const SpectralWindow& window, double before, double top,
                   double after);

/// Peaks that noise alone makes somewhere among `looked_at` bins with less than
/// that probability.
/// Model:  over the floor the mean of n periodograms of noise is a chi-square
///         of 2 n degrees of freedom over 2 n; the floor is another, of its own
///         degrees of freedom: the ratio has an F distribution. looked_at bins
///         are taken to be independent, which makes false alarms rarer. The
///         floor is that of the bins beyond the window's response, where that
///         is higher: a line is narrow.
/// Out:    by frequency; lines nearer than 4 bins to a larger one are not told
///         from it, nor those more than 85 dB below the largest from what the
///         window leaves of it. Uncertainties are those that the floor makes.
/// Source: docs/spectrum.md#lines
std::vector<SpectralLine> find_lines(const SearchedDensity& searched,
                                     const SpectralWindow& window,
                                     std::size_t looked_at,
                                     double most_false_alarms);

}  // namespace clockassay
