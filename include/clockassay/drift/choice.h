// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <cstddef>
#include <optional>
#include <span>
#include <vector>

#include "clockassay/drift/curve.h"

namespace clockassay {

/// The models the points allow, and which of them they call for.
struct CurveChoice {
  std::vector<CurveFit> fits;   ///< by rising degree
  std::vector<double> weights;  ///< of each in the band, sum 1
  std::size_t chosen = 0;       ///< index into fits
  /// Probability of so large a gain by the highest term of fits[i], i >= 1, if
  /// that term were zero; absent where it cannot be asked.
  std::vector<std::optional<double>> significance;
};

/// Chooses by evidence: the smallest model whose next larger ones gain no more
/// than chance does once in a hundred. Down from the cubic, one term after the
/// other: an AT cut near its inflection needs its cubic term and no square.
/// In:     as fit_curve()
/// Out:    weights by the Bayesian information criterion, so that the band
/// holds
///         what the choice leaves open
/// Errors: those of fit_curve() for the line
/// Source: docs/drift.md#the-choice
Result<CurveChoice> choose_curve(std::span<const DriftPoint> points,
                                 const CurveTerms& terms,
                                 const InstrumentTerms& instrument,
                                 double coverage);

/// The chosen curve at a place. Its error holds, beside its own, how far the
/// other models stand from it, each by its weight.
/// Source: docs/drift.md#the-band
Stated curve_at(const CurveChoice& choice, const CurvePlace& place);

/// Lowest and highest temperature of the points.
struct Span {
  double low_c = 0.0;
  double high_c = 0.0;
};
Span measured_span(std::span<const DriftPoint> points);

/// Probability of so large a gain in chi-squared by `terms` more parameters, if
/// they were zero. By the chi-squared distribution where uncertainties are
/// stated and sound, by F where the scatter had to be estimated; absent without
/// degrees of freedom for that.
std::optional<double> gain_probability(const CurveFit& smaller,
                                       const CurveFit& larger, int terms);

}  // namespace clockassay
