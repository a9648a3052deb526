// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <cstddef>
#include <optional>
#include <span>
#include <vector>

#include "clockassay/base/result.h"
#include "clockassay/drift/series.h"
#include "clockassay/uncertainty/error_distribution.h"

namespace clockassay {

/// Polynomials in temperature: an RC oscillator over moderate ranges, a tuning
/// fork or BT cut with its turnover, an AT cut with its inflection, both free.
/// Those of higher degree have no name, and are never chosen: they are in the
/// band, for what a curve may do that is none of these.
enum class CurveModel { kLine = 1, kParabola = 2, kCubic = 3 };
constexpr int kHighestDegree = 9;

/// "line", "parabola", "cubic", else "curve of higher degree".
const char* curve_model_name(CurveModel model);

inline constexpr double kSecondsPerDay = 86400.0;

/// Ageing A ln(B t + 1) by its B, per day. 0 stands for the limit of a straight
/// line in time, infinity for that of A ln t.
/// Source: the law is that of MIL-PRF-55310, as quoted in a public post
struct AgeingRate {
  double per_day = 0.0;
};

/// What is fitted beside the polynomial.
struct CurveTerms {
  /// The up sweep half of a parameter above, the down sweep half below.
  bool sweeps = false;
  /// One parameter, zero at the time of the last point: the curve is that of
  /// the part as it was then.
  std::optional<AgeingRate> ageing = {};
  /// The variance of points that state no u, ppm^2, beside what the errors of
  /// their temperatures add; absent: what makes chi-squared the degrees of
  /// freedom. Given to compare models, of which only one can be so.
  std::optional<double> own_variance = {};
};

/// Whether the scatter of the points agrees with what is stated of them.
enum class Scatter {
  kAsStated,   ///< chi-squared is no surprise, or cannot be looked at
  kTooLarge,   ///< stated uncertainties are widened by the Birge ratio
  kEstimated,  ///< none stated: the scatter is all there is
};

/// One model fitted to one series.
struct CurveFit {
  CurveModel model = CurveModel::kLine;
  CurveTerms terms;
  InstrumentTerms instrument;
  double coverage = 0.95;
  /// Polynomial in x = (T - centre)/scale, then the sweep offset, then A.
  double centre_c = 0.0;
  double scale_c = 1.0;  ///< a power of two, so that x is exact
  std::vector<long double> parameters;
  /// parameter j = sum over points i of weights[j][i] * error[i]
  std::vector<std::vector<long double>> weights;
  std::vector<double> variance;     ///< of each point, independent, ppm^2
  std::vector<double> temperature;  ///< most likely true ones
  std::vector<double> residual;     ///< ppm; for temperature errors too
  std::vector<double> expected;     ///< deviation weighted by; of no u: 1
  std::vector<double> leverage;
  double chi_squared = 0.0;
  int dof = 0;
  Scatter scatter = Scatter::kAsStated;
  /// sqrt(chi-squared/dof); absent without degrees of freedom.
  std::optional<double> birge_ratio;
  /// Of one more reading, as good as the median one and widened as the points
  /// are: its own variance, ppm^2, and that of its temperature, K^2.
  double reading_variance = 0.0;
  double reading_temperature_variance = 0.0;
  bool converged = true;
};

/// What to ask a curve: the value or a derivative with respect to temperature,
/// for one branch; relative to the mean of the branches at another temperature,
/// if given.
struct CurvePlace {
  double temperature_c = 25.0;
  int derivative = 0;
  Sweep branch = Sweep::kNotStated;  ///< not stated: the mean of both
  std::optional<double> relative_to_c;
};

/// A figure with the distribution of its error.
struct Stated {
  double value = 0.0;
  double standard = 0.0;  ///< k = 1
  /// Its normal part is widened where Student's t calls for it.
  ErrorDistribution error;
  double expanded = 0.0;  ///< at the coverage of the fit
};

/// Fits one model: all points weighted by their stated uncertainty, errors of
/// the temperatures included.
/// Model:  error_i = g(T_i) + r + s_i + e_i;  g the polynomial and the terms;
///         r within the common term, the same for all points; s_i within the
///         stability, in any pattern; e_i independent, standard deviation u_i;
///         temperatures normal about the true ones
/// In:     u stated for every point, or for none
/// Errors: kBadData for figures that are none, u on some points only, no
///         uncertainty at all, too few different temperatures
/// Cost:   O(points^2)
/// Source: docs/drift.md#the-fit
Result<CurveFit> fit_curve(std::span<const DriftPoint> points, CurveModel model,
                           const CurveTerms& terms,
                           const InstrumentTerms& instrument, double coverage);

/// What the fitted curve says at a place.
/// Out:    the error holds the common term (unless it cancels), the worst that
///         the stability can do, how far the curve moves with the thermometer,
///         and the scatter of the points: by Student's t where it had to be
///         estimated
/// Source: docs/drift.md#the-band
Stated curve_at(const CurveFit& fit, const CurvePlace& place);

/// Coefficients of powers of (T - reference): constant, per K, per K^2, per K^3
/// as far as the model goes.
std::vector<Stated> curve_coefficients(const CurveFit& fit, double reference_c);

/// The parameter of the sweep offset, up minus down; absent if not fitted.
std::optional<Stated> sweep_offset(const CurveFit& fit);

/// The parameter A of the ageing; absent if not fitted.
std::optional<Stated> ageing_slope(const CurveFit& fit);

}  // namespace clockassay
