// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <cstddef>
#include <cstdint>
#include <optional>
#include <span>
#include <vector>

#include "clockassay/base/parallel.h"
#include "clockassay/edges/edge_store.h"
#include "clockassay/estimate/edge_line.h"
#include "clockassay/estimate/edge_sums.h"

namespace clockassay {

/// Most knots of a track. Chosen: a megabyte; what wanders faster than a
/// sixty-thousandth of the capture stays in the edges as jitter.
inline constexpr std::int64_t kMostKnots = 65536;

/// As many edges of the reference as pass in a period of the clock; more where
/// there would be too many knots.
std::int64_t edges_per_knot(double reference_edges_per_period,
                            std::int64_t reference_edges);

/// How far the time of a capture is off, by the rising edges of a reference in
/// it: knots, each the mean of as many of its edges.
class ReferenceTrack {
 public:
  /// In: all of the view and the line through its rising edges; origin  what
  ///     instants are counted from; edges_per_knot >= 1
  /// The same bits for any blocks and threads.
  ReferenceTrack(const EdgeView& view, const EdgeSums& sums,
                 const LineFit& line, Ticks origin, std::int64_t edges_per_knot,
                 const ParallelFor& parallel_for);

  std::size_t knots() const { return knots_.size(); }

  /// How far off the line the reference is at an instant [ticks since the
  /// origin], between two knots interpolated [ticks]; absent before the first
  /// and after the last.
  std::optional<double> offset(double instant) const;

  /// The same of many that increase; NaN: absent, or no instant.
  /// In: of equal sizes
  void offsets(std::span<const double> instants, std::span<double> out) const;

 private:
  struct Knot {
    double instant = 0.0;  ///< ticks since the origin
    double offset = 0.0;   ///< of the line [ticks]
  };
  using Place = std::vector<Knot>::const_iterator;
  /// In: after  the first knot later than the instant
  std::optional<double> offset(Place after, double instant) const;

  std::vector<Knot> knots_;
};

}  // namespace clockassay
