// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <string>
#include <vector>

#include "clockassay/analysis/drift_result.h"

namespace clockassay {

/// The temperature whose error is zero where no frequency is expected.
inline constexpr double kDatumTemperature = 25.0;

/// How far an instrument's rate moves from one capture to another where that is
/// not stated: common practice, no source, as for comparisons.
inline constexpr Ppm kAssumedStability{1.0};

/// What the points have in common of their timebases. One timebase shifts all
/// alike, and moves by its stability: 1 ppm where that is not stated, and never
/// more than it may be off at all. Several are each off by what they may be, in
/// any pattern.
/// In:     stability  of the instrument's own clock; by a reference channel it
///         is no matter, and that of the reference is not stated
SharedTimebase shared_timebase(const std::vector<TemperaturePoint>& points,
                               std::optional<Ppm> stability);

/// The curve of each board, in the order in which they first appear, and of
/// boards of which no point is left.
/// Out:    a board without a curve has an error beside it, which names the
///         series and the board
/// Source: docs/drift.md
std::vector<DriftResult> assay_series(const MeasuredSeries& series,
                                      const DriftQuestion& question,
                                      std::vector<Error>& errors);

/// The weight in the band of what is shown nowhere: curves of higher degree,
/// and other rates of ageing.
double weight_of_others(const CurveChoice& choice);

/// The verdict on a board, where one is asked for. Beside what judge_range()
/// says: a clock that stood still within the range for two periods or more
/// fails; points that could not be used, or that carry a warning that forbids
/// it, leave no pass, nor does one long capture that went one way only, or a
/// timebase that stored results assume each for itself.
/// Source: docs/drift.md#the-verdict-over-a-range
std::optional<Verdict> judge_drift(const DriftResult& result);

}  // namespace clockassay
