// SPDX-License-Identifier: GPL-3.0-or-later
#include "clockassay/drift/choice.h"

#include <algorithm>
#include <cmath>
#include <limits>

#include "drift/curve_row.h"
#include "drift/significance.h"

namespace clockassay {
namespace {

// Chosen: a term that is not there is fitted in one series of a hundred; what a
// term too small to show may do is in the band, by the weights.
constexpr double kEvident = 0.01;

// -2 ln of the greatest likelihood, up to a constant that is the same for all
// models: the scale known, or one more parameter.
double misfit(const CurveFit& fit, bool scale_known, double points) {
  if (scale_known) return fit.chi_squared;
  if (fit.dof < 1 || !(fit.chi_squared > 0.0)) {
    return std::numeric_limits<double>::infinity();
  }
  return points * std::log(fit.chi_squared / points);
}

// exp(-BIC/2), the largest of them 1.
std::vector<double> weights_of(const std::vector<CurveFit>& fits) {
  const bool scale_known = fits.back().scatter == Scatter::kAsStated;
  std::vector<double> criterion;
  for (const CurveFit& fit : fits) {
    const double points = static_cast<double>(fit.residual.size());
    criterion.push_back(misfit(fit, scale_known, points) +
                        static_cast<double>(fit.parameters.size()) *
                            std::log(points));
  }
  const double least = *std::min_element(criterion.begin(), criterion.end());
  std::vector<double> weights;
  double sum = 0.0;
  for (const double c : criterion) {
    // All without scatter to judge by: the smallest has to do.
    const double w = std::isfinite(least) ? std::exp(0.5 * (least - c))
                                          : (weights.empty() ? 1.0 : 0.0);
    weights.push_back(w);
    sum += w;
  }
  for (double& w : weights) w /= sum;
  return weights;
}

// The models the points allow, by rising degree; where no u is stated, with the
// scatter about the largest.
Result<std::vector<CurveFit>> fits_of(std::span<const DriftPoint> points,
                                      const CurveTerms& terms,
                                      const InstrumentTerms& instrument,
                                      double coverage) {
  std::vector<CurveFit> fits;
  for (const CurveModel model :
       {CurveModel::kLine, CurveModel::kParabola, CurveModel::kCubic}) {
    auto fit = fit_curve(points, model, terms, instrument, coverage);
    if (!fit && fits.empty()) return tl::unexpected<Error>(fit.error());
    if (!fit) break;
    // Scatter that has to be estimated needs something left over.
    if (fit->scatter != Scatter::kAsStated && fit->dof < 1 && !fits.empty()) {
      break;
    }
    fits.push_back(std::move(*fit));
  }
  if (!fits.back().terms.own_variance) return fits;
  CurveTerms same = terms;
  same.own_variance = fits.back().terms.own_variance;
  for (CurveFit& fit : fits) {
    auto again = fit_curve(points, fit.model, same, instrument, coverage);
    if (again) fit = std::move(*again);
  }
  return fits;
}

}  // namespace

std::optional<double> gain_probability(const CurveFit& smaller,
                                       const CurveFit& larger, int terms) {
  const bool scale_known = larger.scatter == Scatter::kAsStated;
  if (!scale_known && larger.dof < 1) return std::nullopt;
  return gain_by_chance(smaller.chi_squared - larger.chi_squared,
                        larger.chi_squared, terms, larger.dof, scale_known);
}

Result<CurveChoice> choose_curve(std::span<const DriftPoint> points,
                                 const CurveTerms& terms,
                                 const InstrumentTerms& instrument,
                                 double coverage) {
  CurveTerms open = terms;
  open.own_variance.reset();
  auto fits = fits_of(points, open, instrument, coverage);
  if (!fits) return tl::unexpected<Error>(fits.error());
  CurveChoice choice;
  choice.fits = std::move(*fits);
  choice.significance.resize(choice.fits.size());
  for (std::size_t i = choice.fits.size() - 1; i >= 1; --i) {
    choice.significance[i] =
        gain_probability(choice.fits[i - 1], choice.fits[i], 1);
    if (choice.chosen == 0 && choice.significance[i].value_or(1.0) < kEvident) {
      choice.chosen = i;
    }
  }
  choice.weights = weights_of(choice.fits);
  return choice;
}

Stated curve_at(const CurveChoice& choice, const CurvePlace& place) {
  Stated whole;
  const Stated chosen = curve_at(choice.fits[choice.chosen], place);
  whole.value = chosen.value;
  double normal = 0.0;
  double standard = 0.0;
  for (std::size_t i = 0; i < choice.fits.size(); ++i) {
    const double weight = choice.weights[i];
    if (weight == 0.0 && i != choice.chosen) continue;
    const Stated one =
        bare_figure_of_row(choice.fits[i], row_at(choice.fits[i], place));
    const double off = one.value - whole.value;
    normal += weight * (std::pow(one.error.normal_sigma, 2) + off * off);
    standard += weight * (one.standard * one.standard + off * off);
    whole.error.rectangle_half_width += weight * one.error.rectangle_half_width;
  }
  whole.error.normal_sigma = std::sqrt(normal);
  whole.standard = std::sqrt(standard);
  const double coverage = choice.fits[choice.chosen].coverage;
  whole.expanded = expanded_or_infinite(whole.error, coverage);
  // The choice leaves nothing open that makes it better than it is.
  if (!(whole.expanded >= chosen.expanded)) return chosen;
  return whole;
}

Span measured_span(std::span<const DriftPoint> points) {
  Span span{points[0].temperature_c, points[0].temperature_c};
  for (const DriftPoint& p : points) {
    span.low_c = std::min(span.low_c, p.temperature_c);
    span.high_c = std::max(span.high_c, p.temperature_c);
  }
  return span;
}

}  // namespace clockassay
