// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <cstdint>
#include <optional>

#include "clockassay/base/units.h"

namespace clockassay {

/// From so much rms jitter of an edge on [samples] it dithers the sampler
/// (docs/coverage.md).
inline constexpr double kDitheringJitter = 0.3;

/// A clock somewhere in a band, and how it is sampled.
struct CaptureSetting {
  Hertz low;  ///< the clock is from low to high
  Hertz high;
  Hertz sample_rate;
  Seconds duration;               ///< of the capture; the clock runs throughout
  Seconds jitter = Seconds(0.0);  ///< rms of an edge
};

/// What a capture leaves of the frequency at 95 %, at most, before the
/// timebase: the estimator's half-width, foreseen.
struct CaptureWidth {
  double cycles = 0.0;  ///< whole ones between first and last edge
  /// Fewest phases at which a clock of the band may meet the sampler: q where
  /// q periods can be a whole number of samples; 1: any period may.
  std::int64_t fewest_phases = 1;
  /// What the width is reckoned with: up to 8 count as 1, because a little
  /// jitter hides all but one.
  std::int64_t counted_phases = 1;
  Ppm sampling{0.0};
  Ppm jitter{0.0};
  Ppm half_width{0.0};  ///< of both
  /// Of more rms than this the jitter says how wide it is.
  Seconds jitter_that_counts{0.0};
};

/// Model: sampling  1/(q N) of a sample a cycle, q the denominator of the
///                  simplest fraction within 1/N of the periods of the band
///                  [samples], but no less than 6/N²; up to q = 8 it is 1/N,
///                  that is Ts/T, and 1.5/N where a clock of the band may
///                  pass the sampler by fewer than four samples, q periods
///                  together
///        jitter    z(N) sqrt(12 (σ² + 1/12)/N³), as if the two edges of a
///                  cycle jittered together; from σ = 0.3 samples on in the
///                  place of sampling, which it dithers
/// In:    0 < low <= high; sample rate, duration > 0
/// Out:   fewer than three cycles give an infinite width
/// Source: docs/plan.md#width
CaptureWidth foresee_width(const CaptureSetting& setting);

/// Cycles after which no more than `half_width` is left whatever phases the
/// clock meets the sampler at.
/// In:    half_width, samples_per_period > 0
///        sigma  rms jitter of an edge [samples]
double cycles_for_width(Ppm half_width, double samples_per_period,
                        double sigma);

}  // namespace clockassay
