// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <cstddef>
#include <span>
#include <vector>

#include "clockassay/drift/curve.h"

namespace clockassay {

/// Which readings were taken at one set point.
struct SetPoints {
  std::vector<std::size_t> of;    ///< each reading's set point
  std::vector<std::size_t> size;  ///< readings of each set point
};

/// Readings of one sweep within 1 K, or a sixteenth of the span if that is
/// less; where all state their time, one after the other.
/// Source: docs/drift.md#set-points
SetPoints set_points(std::span<const DriftPoint> points);

/// One point for each set point: the mean of its readings. Their own u averages
/// out, that of the temperature does not.
std::vector<DriftPoint> set_point_means(std::span<const DriftPoint> points);

/// As fit_curve(), to the means of the set points. Figures of points are of
/// each reading: its share of the weight, its own residual, and such a variance
/// that those of a set point together have that of the mean.
Result<CurveFit> fit_set_points(std::span<const DriftPoint> points,
                                CurveModel model, const CurveTerms& terms,
                                const InstrumentTerms& instrument,
                                double coverage);

}  // namespace clockassay
