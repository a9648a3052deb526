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
  std::vector<double> weights;  ///< of each in the band
  /// In the band only: the same models with other ageing than the chosen one,
  /// or none, and those of higher degree. All weights together sum to 1.
  std::vector<CurveFit> others;
  std::vector<double> other_weights;
  std::size_t chosen = 0;  ///< index into fits
  /// Probability of so large a gain by the highest term of fits[i], i >= 1, if
  /// that term were zero; absent where it cannot be asked.
  std::vector<std::optional<double>> significance;
  /// How far the clock may be off the chosen curve, half-width in ppm, where
  /// its points are farther off than is stated of them, or nothing is stated:
  /// as far as the farthest. Else 0.
  double misfit_ppm = 0.0;
};

/// Chooses by evidence: the smallest model whose next larger ones gain no more
/// than chance does once in a hundred. Down from the cubic, one term after the
/// other: an AT cut near its inflection needs its cubic term and no square.
/// In:     as fit_curve();
///         rates  of ageing that fit as well as that of the terms, or as none:
///         beside it they are in the band
/// Out:    weights by the Bayesian information criterion, so that the band
///         holds what the choice leaves open
/// Errors: those of fit_curve() for the line
/// Source: docs/drift.md#the-choice
Result<CurveChoice> choose_curve(std::span<const DriftPoint> points,
                                 const CurveTerms& terms,
                                 const InstrumentTerms& instrument,
                                 double coverage,
                                 std::span<const AgeingRate> rates = {});

/// The chosen curve at a place. Its error holds, beside its own, how far the
/// other models stand from it, each by its weight, and of a value the misfit.
/// Source: docs/drift.md#the-band
Stated curve_at(const CurveChoice& choice, const CurvePlace& place);

/// The same, of one more reading there, as good as the median one, by an
/// instrument that may be off as stated: the prediction band.
/// Source: docs/drift.md#the-band
Stated reading_at(const CurveChoice& choice, const CurvePlace& place);

/// Coefficients of the chosen curve about a temperature; their errors hold how
/// far those of the other models stand from them.
std::vector<Stated> curve_coefficients(const CurveChoice& choice,
                                       double reference_c);

/// Lowest and highest temperature of the points.
struct Span {
  double low_c = 0.0;
  double high_c = 0.0;
};
Span measured_span(std::span<const DriftPoint> points);

/// How many temperatures are apart by more than 1/64 of the measured span.
/// Chosen: nearer ones test no bend, however often they are repeated.
int distinct_temperatures(std::span<const DriftPoint> points);

/// Probability of so large a gain in chi-squared by `terms` more parameters, if
/// they were zero. By the chi-squared distribution where uncertainties are
/// stated and sound, by F where the scatter had to be estimated; absent without
/// degrees of freedom for that.
std::optional<double> gain_probability(const CurveFit& smaller,
                                       const CurveFit& larger, int terms);

}  // namespace clockassay
