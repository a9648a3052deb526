// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <cstddef>
#include <optional>

#include "clockassay/drift/range_verdict.h"

namespace clockassay {

/// A point that shows by itself that a limit is not kept.
struct MeasuredFail {
  std::size_t point = 0;
  double error_ppm = 0.0;     ///< as the limits count it
  double expanded_ppm = 0.0;  ///< of the point, one-sided, over all points
};

/// The point that is farthest beyond a limit, if that is more than it may be
/// off by itself: whatever the curve does between the points.
/// In:     marked points are left out, and what lies beyond the range
/// Out:    its normal part is that of the point, or what neighbours differ by
///         from a straight line between them, if that is more
/// Source: docs/drift.md#the-verdict-over-a-range
std::optional<MeasuredFail> measured_fail(const DriftAssay& assay,
                                          const RangeLimits& limits);

/// By how much more than stated the points scatter about straight lines between
/// their neighbours, along the temperatures: what no bend of a curve does.
struct LocalScatter {
  double ratio = 1.0;
  int dof = 0;  ///< 0: three neighbours are not there
};
LocalScatter local_scatter(const CurveFit& fit);

}  // namespace clockassay
