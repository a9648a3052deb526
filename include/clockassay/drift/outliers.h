// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <cstddef>
#include <span>
#include <vector>

#include "clockassay/drift/curve.h"

namespace clockassay {

/// A point that stands off the curve by more than chance allows.
struct Outlier {
  std::size_t point = 0;
  double residual_ppm = 0.0;  ///< from the curve that does without it
  double probability = 0.0;   ///< of one so far off anywhere, by chance
};

/// Marks outliers, never drops them.
/// Model:  the generalised extreme studentised deviate: the farthest point is
///         left out, and again, up to a quarter of the points; of these, as
///         many are outliers as the last that chance does not explain, so that
///         two do not hide each other
/// In:     the model as chosen for all points
/// Out:    in the order of the points; none where fewer than three points more
///         than parameters would remain
/// Source: docs/drift.md#outliers
std::vector<Outlier> find_outliers(std::span<const DriftPoint> points,
                                   const CurveFit& fit);

}  // namespace clockassay
