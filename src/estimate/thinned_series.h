// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <cstdint>
#include <vector>

#include "clockassay/base/parallel.h"
#include "estimate/periodogram.h"
#include "estimate/spectral_window.h"

namespace clockassay {

/// A long series as weighted means of it, for its low frequencies.
class ThinnedSeries {
 public:
  /// Value j is the mean of values j * factor … (j + 8) * factor - 1, weighted
  /// by a SpectralWindow of that length; NaN where more than 1/64 of the weight
  /// is on values that are not known.
  /// In:     count >= 8 * factor, factor a power of two >= 2
  /// Cost:   O(8 count)
  ThinnedSeries(const SeriesReader& read, std::int64_t count,
                std::int64_t factor, const ParallelFor& parallel_for);

  const std::vector<double>& values() const { return values_; }
  /// What a power spectral density of the means has to be divided by; frequency
  /// in cycles per value of the long series.
  double power_response(double frequency) const;
  /// Up to here [cycles per value of the long series], no line is more than
  /// 3.3 dB down, and what is folded there from 7/8 of the rate of the means
  /// and above is 92 dB down.
  double highest() const { return 0.125 / static_cast<double>(factor_); }

 private:
  std::int64_t factor_;
  SpectralWindow window_;
  std::vector<double> values_;
};

}  // namespace clockassay
