// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <optional>
#include <span>
#include <string>
#include <vector>

#include "clockassay/drift/ageing.h"
#include "clockassay/drift/choice.h"
#include "clockassay/drift/extremes.h"
#include "clockassay/drift/outliers.h"

namespace clockassay {

/// The offset between the way up and the way down.
struct Hysteresis {
  Stated offset;             ///< up minus down, ppm
  bool significant = false;  ///< farther from zero than U
  /// Up before down along the temperatures, in kelvin: a thermometer that lags.
  std::optional<Stated> lag;
  bool lag_significant = false;
};

/// All that the points of one board say of its curve.
struct DriftAssay {
  std::vector<DriftPoint> points;
  InstrumentTerms instrument;  ///< its stability holds stated ageing
  int distinct = 0;  ///< temperatures, as distinct_temperatures() counts them
  CurveChoice choice;
  Span measured;
  /// Measured, and a 256th of that beyond either end: what a curve over all of
  /// it bends there is nothing beside what it does within (chosen).
  Span known;
  /// The same of each way, where both are fitted; else of all. `known` is then
  /// what both ways cover.
  Span known_up;
  Span known_down;
  std::optional<Hysteresis> hysteresis;  ///< where both sweeps have two points
  std::optional<Ageing> ageing;          ///< where times let it be looked for
  std::vector<Outlier> outliers;
  /// The choice without the outliers; nothing else is ever without them.
  std::optional<CurveChoice> without_outliers;
  std::vector<Turnover> turnovers;
  std::vector<std::string> caveats;  ///< what cannot be told, in sentences
};

/// Whether the curve may be ageing, and nothing bounds that.
bool ageing_not_told(const DriftAssay& assay);

/// Whether the readings show more ageing than is stated as a bound.
bool ages_beyond_bound(const DriftAssay& assay);

/// Whether the temperatures test the curve: every model could be fitted, and
/// one distinct temperature more than a cubic takes is left over to test it; if
/// no more than that one, no gap is wider than half of the span; nor is one of
/// a way wider than half of what it spans, where ways are told apart.
/// Repeats tell the scatter, and nothing of what lies between.
bool tested_between(const DriftAssay& assay);

inline const CurveFit& chosen_fit(const DriftAssay& assay) {
  return assay.choice.fits[assay.choice.chosen];
}

/// Marked points that are contradicted by twice as many that are not, at their
/// temperature (within 1 K and what the temperatures may be off) and on their
/// way, all of them on the curve without the marked ones.
/// Source: docs/drift.md#outliers
std::vector<Outlier> outvoted_points(const DriftAssay& assay);

/// Runs all steps in order on the points of one board.
/// In:     coverage in (0, 1)
/// Errors: those of choose_curve()
/// Source: docs/drift.md
Result<DriftAssay> assay_drift(std::span<const DriftPoint> points,
                               const InstrumentTerms& instrument,
                               double coverage);

}  // namespace clockassay
