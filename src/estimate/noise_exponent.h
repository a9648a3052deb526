// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <optional>
#include <span>

#include "clockassay/estimate/stability.h"

namespace clockassay {

/// Fewest values that tell a kind of noise. The source asks for about 30;
/// chosen: of 31 a tenth of the series of white frequency noise is taken for
/// whiter noise, of 50 a hundredth (simulated).
inline constexpr std::int64_t kFewestForNoise = 50;

/// Power-law noise by its lag-1 autocorrelation.
struct NoiseExponent {
  double exponent;  ///< p, of the spectrum of the values, f^p
  double spread;    ///< its standard deviation
  double r1;        ///< autocorrelation of the values, differenced so often
  int differences;
};

/// Model:  values less their polynomial trend of that order; differences until
///         delta = r1 / (1 + r1) < 1/4, d times, twice at most;
///         p = -2 (delta + d); r1 of n values is spread by 1/sqrt(n) and, of
///         white ones, lowered by (order + 1)/n; p changes by 2/(1 + r1)^2 of
///         it
/// In:     NaN: missing; order 1 or 2
/// Out:    absent below kFewestForNoise values with a neighbour, or when they
///         do not vary
/// Source: W. J. Riley and C. A. Greenhall, "Power law noise identification
///         using the lag 1 autocorrelation", EFTF 2004; docs/stability.md
std::optional<NoiseExponent> lag1_exponent(std::span<const double> values,
                                           int trend_order);

/// Of phases: the frequency's exponent is larger by two. The one that lies a
/// standard deviation lower counts, rounded, and what is beyond the ends is the
/// end: noise taken for whiter than it is makes an interval far too
/// narrow, one kind less white a little wide.
std::optional<NoiseKind> noise_of_phases(std::span<const double> phases);

/// 2 ... -2
int alpha_of(NoiseKind kind);

}  // namespace clockassay
