// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <cstdint>

namespace clockassay {

/// The slope of a line through n edges is moved by sampling by no more than so
/// many windows over n: half a window down before the middle, half one up
/// behind it, (w/2) (n²/4) / (n³/12).
inline constexpr double kSlopeBySampling = 1.5;

/// How a steady clock meets the sampler.
struct SamplerSweep {
  double samples = 0.0;      ///< sampling intervals a period
  double uncertainty = 0.0;  ///< as far as that may be off, or wander
};

/// The mean of the errors that sampling makes of `cycles` edges one after the
/// other is off that of many edges by no more than this, whatever the phase of
/// the first: 1/2 where the clock stands still against the sampler, next to
/// nothing where it sweeps its phases often.
/// Model:  the error is a sawtooth of the phase. Vaaler's polynomial of degree
///         H has its harmonics h, each 1/(pi h) or less, and is off it by
///         1/(2 H + 2) of a Fejér kernel; of a sinusoid of f turns a cycle the
///         mean of m is 1/(m |sin pi f|) at most. The best of several H.
/// In:     cycles >= 1
/// Out:    sampling intervals, 0 … 1/2
/// Source: J. D. Vaaler, Bull. Amer. Math. Soc. 12, 1985;
///         docs/stability.md#character
double mean_error_bound(const SamplerSweep& sweep, std::int64_t cycles);

}  // namespace clockassay
