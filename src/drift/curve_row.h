// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <optional>
#include <vector>

#include "clockassay/drift/curve.h"
#include "drift/least_squares.h"

namespace clockassay {

/// The m-th derivative of x^power with respect to temperature, where
/// x = (temperature - centre)/scale.
Real power_term(const CurveFit& fit, double temperature_c, int power, int m);

/// By how much the ageing of unit A differs between a time and the last one.
Real ageing_term(AgeingRate rate, double time_s, double last_s);

/// What each parameter adds to the figure at a place.
std::vector<Real> row_at(const CurveFit& fit, const CurvePlace& place);

/// U of the error: 0 for a figure that is so by definition, such as a curve at
/// the temperature it is relative to; infinite for one that nothing bounds.
double expanded_or_infinite(const ErrorDistribution& error, double coverage);

/// figure = sum over points i of share[i] * error[i], of the figure of a row.
std::vector<Real> point_shares(const CurveFit& fit,
                               const std::vector<Real>& row);

/// What the fit says at a place, with its error but without U, which costs the
/// most.
Stated bare_curve_at(const CurveFit& fit, const CurvePlace& place);

/// The variance of one more reading at a temperature, by the slope there, and
/// widened by Student's t as the curve's own is.
double reading_variance_at(const CurveFit& fit, double temperature_c);

/// The factor by which a standard deviation is to be widened so that as a
/// normal one it reaches as far as Student's t.
double student_widening(double coverage, int dof);

}  // namespace clockassay
