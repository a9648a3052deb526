// SPDX-License-Identifier: GPL-3.0-or-later
#include "clockassay/drift/choice.h"

#include <algorithm>
#include <cmath>
#include <limits>

#include "drift/curve_bands.h"
#include "drift/curve_row.h"
#include "drift/set_points.h"
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

double largest_residual(const CurveFit& fit) {
  double largest = 0.0;
  for (const double r : fit.residual) largest = std::max(largest, std::abs(r));
  return largest;
}

// BIC of a fit and what is taken off for each rate of ageing that is tried.
struct Weighed {
  const CurveFit* fit;
  double criterion;
};

Weighed weighed(const CurveFit& fit, bool scale_known, double rates) {
  const double points = static_cast<double>(fit.parameters.size()) + fit.dof;
  double criterion =
      misfit(fit, scale_known, points) +
      static_cast<double>(fit.parameters.size()) * std::log(points);
  // Any of the rates is as likely beforehand as any other.
  if (fit.terms.ageing) criterion += 2.0 * std::log(rates);
  return {&fit, criterion};
}

// Chosen: what weighs less than a ten-thousandth of all is not in the band to
// be seen, and costs as much as what is.
void drop_the_light(CurveChoice& choice) {
  constexpr double kLight = 1e-4;
  std::size_t kept = 0;
  for (std::size_t i = 0; i < choice.others.size(); ++i) {
    if (choice.other_weights[i] < kLight) continue;
    if (kept != i) {
      choice.others[kept] = std::move(choice.others[i]);
      choice.other_weights[kept] = choice.other_weights[i];
    }
    ++kept;
  }
  choice.others.resize(kept);
  choice.other_weights.resize(kept);
}

// What AIC takes off in small series beside BIC, per Hurvich and Tsai, 1989
// (from memory, tried by simulation): where the scatter is estimated a curve
// that runs through nearly all points has next to none, and weighs far too much
// by BIC alone.
double small_series_penalty(const CurveFit& fit) {
  const double parameters = static_cast<double>(fit.parameters.size());
  const double points = parameters + fit.dof;
  const double left = points - parameters - 2.0;
  if (!(left > 0.0)) return std::numeric_limits<double>::infinity();
  return std::max(0.0, points * (points + parameters) / left - points -
                           parameters * std::log(points));
}

// exp(-BIC/2), so that all sum to 1.
void weigh(CurveChoice& choice, double rates) {
  const bool scale_known = choice.fits.back().scatter == Scatter::kAsStated;
  std::vector<Weighed> all;
  const double usual = std::min(small_series_penalty(choice.fits.back()),
                                std::numeric_limits<double>::max());
  for (const auto* list : {&choice.fits, &choice.others}) {
    for (const CurveFit& fit : *list) {
      all.push_back(weighed(fit, scale_known, rates));
      const bool stated = fit.scatter != Scatter::kEstimated;
      if (stated || fit.model <= CurveModel::kCubic) continue;
      all.back().criterion += small_series_penalty(fit) - usual;
    }
  }
  double least = std::numeric_limits<double>::infinity();
  for (const Weighed& w : all) least = std::min(least, w.criterion);
  std::vector<double> weights;
  double sum = 0.0;
  for (const Weighed& w : all) {
    // All without scatter to judge by: the smallest has to do.
    weights.push_back(std::isfinite(least)
                          ? std::exp(0.5 * (least - w.criterion))
                          : (weights.empty() ? 1.0 : 0.0));
    sum += weights.back();
  }
  for (double& w : weights) w /= sum;
  const auto split =
      weights.begin() + static_cast<std::ptrdiff_t>(choice.fits.size());
  choice.weights.assign(weights.begin(), split);
  choice.other_weights.assign(split, weights.end());
  drop_the_light(choice);
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
    auto fit = fit_set_points(points, model, terms, instrument, coverage);
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
    auto again = fit_set_points(points, fit.model, same, instrument, coverage);
    if (again) fit = std::move(*again);
  }
  return fits;
}

// The models chosen from, with every other rate. Without ageing only where
// there is none: else the band would hold by half what its being there does.
void add_others(std::span<const DriftPoint> points,
                std::span<const AgeingRate> rates, CurveChoice& choice) {
  for (const AgeingRate rate : rates) {
    for (const CurveFit& fit : choice.fits) {
      if (fit.terms.ageing && fit.terms.ageing->per_day == rate.per_day)
        continue;
      CurveTerms terms = fit.terms;
      terms.ageing = rate;
      auto other = fit_set_points(points, fit.model, terms, fit.instrument,
                                  fit.coverage);
      if (!other || other->dof < 1) continue;
      choice.others.push_back(std::move(*other));
    }
  }
}

// Curves that bend more than a cubic, with a temperature left over to test
// them.
void add_higher(std::span<const DriftPoint> points, CurveChoice& choice) {
  const CurveFit& largest = choice.fits.back();
  if (largest.model != CurveModel::kCubic) return;
  const int distinct = distinct_temperatures(points);
  for (int degree = static_cast<int>(CurveModel::kCubic) + 1;
       degree <= std::min(kHighestDegree, distinct - 2); ++degree) {
    auto fit =
        fit_set_points(points, static_cast<CurveModel>(degree), largest.terms,
                       largest.instrument, largest.coverage);
    if (!fit || fit->dof < 1) return;
    choice.others.push_back(std::move(*fit));
  }
}

// Where no temperature is left over to test a cubic nothing is known of what
// lies between them: the band holds the largest model whole.
void weigh_untested(std::span<const DriftPoint> points, CurveChoice& choice) {
  constexpr int kLeast = static_cast<int>(CurveModel::kCubic) + 2;
  if (distinct_temperatures(points) >= kLeast) return;
  std::fill(choice.weights.begin(), choice.weights.end(), 0.0);
  choice.weights.back() = 1.0;
  choice.others.clear();
  choice.other_weights.clear();
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
                                 double coverage,
                                 std::span<const AgeingRate> rates) {
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
  add_higher(points, choice);
  if (!rates.empty()) add_others(points, rates, choice);
  weigh(choice, static_cast<double>(rates.size()) + 1.0);
  weigh_untested(points, choice);
  const CurveFit& chosen = choice.fits[choice.chosen];
  if (chosen.scatter != Scatter::kAsStated) {
    choice.misfit_ppm = largest_residual(chosen);
  }
  return choice;
}

namespace {

// What all models say together, about the chosen one: standard deviations of
// the normal part and of all, and the bound.
struct Together {
  double value = 0.0;
  double normal = 0.0;
  double standard = 0.0;
  double bound = 0.0;
};

void add_model(const CurveFit& fit, double weight, const CurvePlace& place,
               Together& all) {
  if (weight == 0.0) return;
  const Stated one = bare_curve_at(fit, place);
  const double off = one.value - all.value;
  all.normal += weight * (std::pow(one.error.normal_sigma, 2) + off * off);
  all.standard += weight * (one.standard * one.standard + off * off);
  all.bound += weight * one.error.rectangle_half_width;
}

Together alone(const Stated& one) {
  return {one.value, std::pow(one.error.normal_sigma, 2),
          one.standard * one.standard, one.error.rectangle_half_width};
}

Together of_all(const CurveChoice& choice, const CurvePlace& place,
                double value) {
  Together all;
  all.value = value;
  for (std::size_t i = 0; i < choice.fits.size(); ++i) {
    add_model(choice.fits[i], choice.weights[i], place, all);
  }
  for (std::size_t i = 0; i < choice.others.size(); ++i) {
    add_model(choice.others[i], choice.other_weights[i], place, all);
  }
  return all;
}

Stated stated(const Together& all, double coverage) {
  Stated out;
  out.value = all.value;
  out.error.normal_sigma = std::sqrt(all.normal);
  out.error.rectangle_half_width = all.bound;
  out.standard = std::sqrt(all.standard);
  out.expanded = expanded_or_infinite(out.error, coverage);
  return out;
}

// The choice leaves nothing open that makes it better than it is.
Stated wider(const Together& whole, const Together& chosen, double coverage) {
  const Stated by_all = stated(whole, coverage);
  if (whole.normal >= chosen.normal && whole.bound >= chosen.bound) {
    return by_all;
  }
  const Stated by_one = stated(chosen, coverage);
  return by_all.expanded >= by_one.expanded ? by_all : by_one;
}

// With what one more reading adds: its own variance, and the stability.
Together with_reading(Together all, double variance, double bound) {
  all.normal += variance;
  all.standard += variance + bound * bound / 3.0;
  all.bound += bound;
  return all;
}

// What a figure may be off by if the clock has another curve; of one that is
// relative to the curve elsewhere, there too.
double misfit_at(const CurveChoice& choice, const CurvePlace& place) {
  if (place.derivative != 0) return 0.0;
  if (!place.relative_to_c) return choice.misfit_ppm;
  return place.temperature_c == *place.relative_to_c ? 0.0
                                                     : 2.0 * choice.misfit_ppm;
}

// Not in quadrature: the clock may be off by as much at any temperature.
Stated with_misfit(Stated stated, double misfit) {
  if (!(misfit > 0.0)) return stated;
  stated.error.rectangle_half_width += misfit;
  stated.standard = std::hypot(stated.standard, misfit / std::sqrt(3.0));
  stated.expanded += misfit;
  return stated;
}

}  // namespace

double loop_at(const CurveChoice& choice, const CurvePlace& place) {
  if (place.derivative != 0 || place.branch == Sweep::kNotStated) return 0.0;
  const CurveFit& chosen = choice.fits[choice.chosen];
  const auto offset = sweep_offset(chosen);
  // The misfit holds the largest residual already.
  if (!offset || choice.misfit_ppm > 0.0) return 0.0;
  return std::min(0.5 * std::abs(offset->value), largest_residual(chosen));
}

CurveBands curve_bands(const CurveChoice& choice, const CurvePlace& place) {
  const CurveFit& chosen = choice.fits[choice.chosen];
  const Together one = alone(bare_curve_at(chosen, place));
  const Together all = of_all(choice, place, one.value);
  const double variance = reading_variance_at(chosen, place.temperature_c);
  const double bound = chosen.instrument.stability.value();
  const Stated curve =
      with_misfit(wider(all, one, chosen.coverage),
                  misfit_at(choice, place) + loop_at(choice, place));
  const Stated reading =
      with_misfit(wider(with_reading(all, variance, bound),
                        with_reading(one, variance, bound), chosen.coverage),
                  loop_at(choice, place));
  // The scatter of a reading is the misfit, or beside it less than it.
  return {curve, reading.expanded >= curve.expanded ? reading : curve};
}

Stated curve_at(const CurveChoice& choice, const CurvePlace& place) {
  const CurveFit& chosen = choice.fits[choice.chosen];
  const Together one = alone(bare_curve_at(chosen, place));
  return with_misfit(
      wider(of_all(choice, place, one.value), one, chosen.coverage),
      misfit_at(choice, place) + loop_at(choice, place));
}

Stated reading_at(const CurveChoice& choice, const CurvePlace& place) {
  return curve_bands(choice, place).reading;
}

std::vector<Stated> curve_coefficients(const CurveChoice& choice,
                                       double reference_c) {
  const int degree = static_cast<int>(choice.fits[choice.chosen].model);
  std::vector<Stated> coefficients;
  double factorial = 1.0;
  for (int m = 0; m <= degree; ++m) {
    if (m > 1) factorial *= m;
    CurvePlace place;
    place.temperature_c = reference_c;
    place.derivative = m;
    Stated c = curve_at(choice, place);
    c.value /= factorial;
    c.standard /= factorial;
    c.expanded /= factorial;
    c.error.normal_sigma /= factorial;
    c.error.rectangle_half_width /= factorial;
    coefficients.push_back(c);
  }
  return coefficients;
}

Span measured_span(std::span<const DriftPoint> points) {
  Span span{points[0].temperature_c, points[0].temperature_c};
  for (const DriftPoint& p : points) {
    span.low_c = std::min(span.low_c, p.temperature_c);
    span.high_c = std::max(span.high_c, p.temperature_c);
  }
  return span;
}

int distinct_temperatures(std::span<const DriftPoint> points) {
  constexpr double kShare = 1.0 / 16.0;
  std::vector<double> at;
  for (const DriftPoint& p : points) at.push_back(p.temperature_c);
  std::sort(at.begin(), at.end());
  const double step = kShare * (at.back() - at.front());
  int distinct = 1;
  double last = at.front();
  for (const double t : at) {
    if (!(t - last > step)) continue;
    last = t;
    ++distinct;
  }
  return distinct;
}

}  // namespace clockassay
