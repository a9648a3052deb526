// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <cstdint>
#include <optional>
#include <vector>

#include "clockassay/base/parallel.h"
#include "clockassay/base/units.h"
#include "clockassay/edges/edge_store.h"
#include "clockassay/estimate/edge_sums.h"
#include "clockassay/estimate/view_extremes.h"

namespace clockassay {

/// A slope of the frame as an exact fraction, den > 0.
struct Fraction {
  Int128 num = 0;
  Int128 den = 1;
  double value() const;
};

/// Exact order; both within the ranges the set works in.
bool less(const Fraction& a, const Fraction& b);
bool equal(const Fraction& a, const Fraction& b);

struct SlopeInterval {
  Fraction low;
  Fraction high;
};

/// A point (k, y) of the frame.
struct FramePoint {
  std::int64_t k;
  std::int64_t y;
  friend bool operator==(const FramePoint&, const FramePoint&) = default;
};

/// The upper and lower convex hulls of one polarity's points, k increasing.
struct PointHulls {
  std::vector<FramePoint> upper;
  std::vector<FramePoint> lower;
};

/// Windows are whole numbers of 1/1024 tick, rounded up, so that every
/// comparison is between integers.
inline constexpr std::int64_t kWindowUnits = 1024;

/// Range of one polarity's residuals, R(s) = max(y - k s) - min(y - k s), at
/// its smallest: no constant-frequency line fits a window narrower than this.
struct SmallestRange {
  Fraction range;  ///< [ticks]
  Fraction slope;  ///< where it is attained
};
std::optional<SmallestRange> smallest_range(const PointHulls& hulls);

/// {s : R(s) < window}, an open interval; absent ends are unbounded.
struct OpenInterval {
  std::optional<Fraction> low;
  std::optional<Fraction> high;
};
OpenInterval slopes_within(const PointHulls& hulls, std::int64_t window_units);

/// Both hulls by monotone chain over every edge: the plain way, for small
/// captures and as the reference the fast one is compared with.
struct EdgeHulls {
  PointHulls rise;
  PointHulls fall;
};
EdgeHulls all_hulls(const EdgeView& view, const EdgeFrame& frame);

/// What the windows of the edges say about the slope.
struct FeasibleSet {
  Fraction range;  ///< smallest residual range, the larger of the polarities'
  /// All slopes whose line passes through every window; absent when there is
  /// none: then the clock jitters.
  std::optional<SlopeInterval> bounds;
  /// Mean slope over the set, when there is one: every line in it is as
  /// likely as any other, so the slope's density is the product of the two
  /// polarities' (1 - R/window).
  std::optional<double> mean_slope;
  /// At that slope, k = 0: the middle of the lines that pass through every
  /// window, for the rising and the falling edges [ticks].
  std::optional<double> rise_middle;
  std::optional<double> fall_middle;
  /// All slopes whose residual range is within one window of the smallest.
  SlopeInterval wide;
};

/// The feasible set of a view.
/// Each edge was seen within `window_units`/1024 ticks after it happened.
/// Block maxima about the slope `near` bound where hull vertices can be; only
/// edges that may be vertices for slopes within a range about it are looked
/// at, and the range grows until every slope of the answer lies strictly
/// inside: the answer then equals that of the plain chain, exactly.
/// In:     at least two rising edges; extremes  of the view, about its line
/// Cost:   little where there are many blocks
/// Source: docs/measurement-model.md#feasible-set
FeasibleSet find_feasible_set(const EdgeView& view, const EdgeFrame& frame,
                              const ViewExtremes& extremes,
                              std::int64_t window_units,
                              const ParallelFor& parallel_for);

/// The same from hulls already at hand.
FeasibleSet feasible_set_from(const EdgeHulls& hulls,
                              std::int64_t window_units);

}  // namespace clockassay
