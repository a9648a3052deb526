// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <optional>

#include "clockassay/base/parallel.h"
#include "clockassay/estimate/clock_ratio.h"

namespace clockassay {

/// A clock whose edges are timed by the phase of a reference.
struct ReferenceTiming {
  double ratio = 0.0;       ///< of the frequencies, clock over reference
  double half_width = 0.0;  ///< at 95 %, relative
  /// Furthest a part is off, relative, where the parts are no white noise.
  std::optional<double> wander;
};

/// Fewest rising edges of either channel. Chosen: with 1.5 periods a part the
/// parts of a view are still nearly independent.
inline constexpr std::int64_t kFewestTimedEdges = 48;

/// Times each edge of the clock by the rising edges of the reference about it:
/// how far these are off their own line is, interpolated, taken off the edge.
/// What drifts or wanders in the capture's time is then gone, and so is what
/// window the regressions had. Then a line as for any clock; its half-width by
/// the scatter of the means of 32 parts, which holds the noise of the clock and
/// that of the reference, however many edges share an edge of it.
/// Out:    absent below kFewestTimedEdges of either, or out of range
/// Source: docs/measurement-model.md#reference-channel
std::optional<ReferenceTiming> time_by_reference(
    const CommonViews& views, const ParallelFor& parallel_for);

}  // namespace clockassay
