// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <cstddef>
#include <vector>

namespace clockassay {

/// The window of segments: the minimum four-term Blackman-Harris window,
/// periodic,
///   w[n] = a0 - a1 cos(2 pi n/N) + a2 cos(4 pi n/N) - a3 cos(6 pi n/N),
/// a = 0.35875, 0.48829, 0.14128, 0.01168.
/// Its side lobes are 92 dB down: sampling makes lines far above the floor, and
/// those of a Hann window (31 dB) would stand out of it as lines of their own.
/// Offsets are in bins of a transform of N values.
/// Source: Harris, Proc. IEEE 66(1), 1978; docs/spectrum.md
class SpectralWindow {
 public:
  /// In: size N, a multiple of 4, at least 16
  explicit SpectralWindow(std::size_t size);

  std::size_t size() const { return values_.size(); }
  const std::vector<double>& values() const { return values_; }
  double sum() const { return sum_; }
  double sum_of_squares() const { return squares_; }
  double coherent_gain() const;
  /// Equivalent noise bandwidth [bins].
  double noise_bandwidth() const;
  /// |transform| at that offset from a line, over that at the line.
  double response(double offset) const;
  /// Correlation of white noise in bins so many apart, seen from the middle of
  /// the segment. In: 0 <= bins
  double bin_correlation(std::size_t bins) const;
  /// The same of a bin of one segment and one of the next, which overlap by
  /// half: of the parts in phase with a line that is so many bins below them.
  /// Of 0 and 0: of one bin in both.
  double half_overlap_correlation(double bin, double bin_of_next) const;

 private:
  std::vector<double> values_;
  double sum_ = 0.0;
  double squares_ = 0.0;
};

/// Bins from a line to the first zero of the response.
inline constexpr std::size_t kMainLobe = 4;

}  // namespace clockassay
