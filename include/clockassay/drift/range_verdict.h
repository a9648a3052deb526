// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <optional>
#include <string>
#include <vector>

#include "clockassay/drift/assay.h"
#include "clockassay/verdict/verdict.h"

namespace clockassay {

/// What a clock has to keep over a range of temperatures.
struct RangeLimits {
  Span range;
  Ppm low{0.0};
  Ppm high{0.0};
  /// The temperature whose error is taken for zero; absent: the expected
  /// frequency is.
  std::optional<double> relative_to_c;
};

struct RangeVerdict {
  Decision decision = Decision::kUndecided;
  BandPlace worst;  ///< where the curve is farthest from zero in the range
  /// Where the band comes closest to a limit, or lies farthest beyond one.
  BandPlace closest;
  /// The range, or what the limits are relative to, leaves the measured span.
  bool extrapolated = false;
  bool held_back = false;  ///< the band would pass, but something forbids it
  /// A fail by a point that is beyond a limit itself, not by the curve.
  bool by_reading = false;
  /// The decision without the marked points; absent: none are marked.
  std::optional<Decision> without_outliers;
  std::vector<std::string> reasons;
};

/// Judges a curve over a range. Pass: the band of every branch lies within the
/// limits everywhere, where the scatter is more than stated that of one more
/// reading; the range within the measured span; temperatures enough to test the
/// curve between them; ageing told from temperature, where there are times; and
/// the marked points are not what makes it so. Fail: somewhere within the
/// measured span the band lies beyond a limit, with the marked points and
/// without; where temperatures do not test the curve, at one of them. Else
/// undecided, and so where the limits are relative to a temperature beyond the
/// measured span.
/// In:     range.low_c <= range.high_c
/// Source: docs/drift.md#the-verdict-over-a-range
RangeVerdict judge_range(const DriftAssay& assay, const RangeLimits& limits);

}  // namespace clockassay
