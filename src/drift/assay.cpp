// SPDX-License-Identifier: GPL-3.0-or-later
#include "clockassay/drift/assay.h"

#include <algorithm>
#include <cmath>
#include <iterator>
#include <utility>

#include "drift/caveats.h"
#include "drift/lag.h"
#include "drift/set_points.h"
#include "drift/widest_gap.h"

namespace clockassay {
namespace {

// Whether more than half of the span lies between two neighbours.
bool widest_gap_is_half(std::span<const DriftPoint> points) {
  return width_of(widest_gap(points)) > 0.5 * width_of(measured_span(points));
}

// An offset between sweeps takes two points on each; and a point that names no
// sweep belongs to neither.
bool both_sweeps(std::span<const DriftPoint> points) {
  std::size_t up = 0;
  std::size_t down = 0;
  for (const DriftPoint& p : points) {
    if (p.sweep == Sweep::kNotStated) return false;
    ++(p.sweep == Sweep::kUp ? up : down);
  }
  return up >= 2 && down >= 2;
}

Span with_margin(const Span& measured) {
  constexpr double kShare = 1.0 / 256.0;
  const double margin = kShare * (measured.high_c - measured.low_c);
  return {measured.low_c - margin, measured.high_c + margin};
}

std::vector<DriftPoint> of_way(const DriftAssay& assay, Sweep way) {
  std::vector<DriftPoint> points;
  std::copy_if(assay.points.begin(), assay.points.end(),
               std::back_inserter(points),
               [way](const DriftPoint& p) { return p.sweep == way; });
  return points;
}

// Where a way was not read its curve is a guess, whatever the other one was.
void set_known(DriftAssay& assay) {
  assay.known = with_margin(assay.measured);
  assay.known_up = assay.known_down = assay.known;
  if (!chosen_fit(assay).terms.sweeps) return;
  const double margin = assay.measured.low_c - assay.known.low_c;
  const auto known_of = [&](Sweep way) {
    const Span span = measured_span(of_way(assay, way));
    return Span{span.low_c - margin, span.high_c + margin};
  };
  assay.known_up = known_of(Sweep::kUp);
  assay.known_down = known_of(Sweep::kDown);
  assay.known = {std::max(assay.known_up.low_c, assay.known_down.low_c),
                 std::min(assay.known_up.high_c, assay.known_down.high_c)};
}

std::vector<DriftPoint> without(std::span<const DriftPoint> points,
                                const std::vector<Outlier>& outliers) {
  std::vector<DriftPoint> left;
  for (std::size_t i = 0; i < points.size(); ++i) {
    const bool marked =
        std::any_of(outliers.begin(), outliers.end(),
                    [&](const Outlier& o) { return o.point == i; });
    if (!marked) left.push_back(points[i]);
  }
  return left;
}

// Ageing that is told from temperature is in the curve whether it is evident or
// not, as an offset between sweeps is: what is too small to show may be there.
// What is not told apart would make any curve of it: that is said, and leaves
// no verdict by the curve.
bool is_in_curve(const DriftAssay& assay) {
  return assay.ageing && assay.ageing->separable >= kLeastSeparable &&
         !assay.instrument.ageing;
}

std::span<const AgeingRate> open_rates(const DriftAssay& assay) {
  if (!is_in_curve(assay)) return {};
  return assay.ageing->rates;
}

// Of the means: readings of a set point lag alike.
std::optional<Stated> lag_of(std::span<const DriftPoint> means,
                             const CurveFit& chosen) {
  const auto fit = fit_curve(means, chosen.model, chosen.terms,
                             chosen.instrument, chosen.coverage);
  return fit ? sweep_lag(means, *fit) : std::nullopt;
}

// A thermometer that lags moves the curve between the two ways by no more than
// half of what they are apart.
double lag_bound_k(const DriftAssay& assay) {
  if (!assay.hysteresis || !assay.hysteresis->lag) return 0.0;
  // An offset may be a lag that is not told from one.
  if (!assay.hysteresis->lag_significant && !assay.hysteresis->significant) {
    return 0.0;
  }
  const Stated& lag = *assay.hysteresis->lag;
  return 0.5 * (std::abs(lag.value) + lag.expanded);
}

void widen_thermometer(CurveChoice& choice, double bound_k) {
  for (auto* list : {&choice.fits, &choice.others}) {
    for (CurveFit& fit : *list) fit.instrument.thermometer_k += bound_k;
  }
}

void mark_outliers(DriftAssay& assay) {
  const CurveFit& fit = chosen_fit(assay);
  // A bad reading among several of a set point is told by the others.
  CurveTerms own = fit.terms;
  if (set_points(assay.points).size.size() < assay.points.size()) {
    own.own_variance.reset();
  }
  const auto each =
      fit_curve(assay.points, fit.model, own, fit.instrument, fit.coverage);
  if (!each) return;
  assay.outliers = find_outliers(assay.points, *each);
  if (assay.outliers.empty()) return;
  const std::vector<DriftPoint> left = without(assay.points, assay.outliers);
  CurveTerms terms = fit.terms;
  terms.sweeps = terms.sweeps && both_sweeps(left);
  auto choice = choose_curve(left, terms, assay.instrument, fit.coverage,
                             open_rates(assay));
  if (!choice) return;
  widen_thermometer(*choice, lag_bound_k(assay));
  assay.without_outliers = std::move(*choice);
}

}  // namespace

bool ageing_not_told(const DriftAssay& assay) {
  return assay.ageing && assay.ageing->separable < kLeastSeparable &&
         !assay.instrument.ageing;
}

bool ages_beyond_bound(const DriftAssay& assay) {
  return assay.ageing && assay.instrument.ageing && assay.ageing->evident &&
         assay.ageing->separable >= kLeastSeparable &&
         std::abs(assay.ageing->change_ppm) > assay.instrument.ageing->value();
}

bool tested_between(const DriftAssay& assay) {
  constexpr int kLeast = static_cast<int>(CurveModel::kCubic) + 2;
  if (assay.choice.fits.back().model != CurveModel::kCubic ||
      assay.distinct < kLeast) {
    return false;
  }
  if (chosen_fit(assay).terms.sweeps &&
      (widest_gap_is_half(of_way(assay, Sweep::kUp)) ||
       widest_gap_is_half(of_way(assay, Sweep::kDown)))) {
    return false;
  }
  return assay.distinct > kLeast || !widest_gap_is_half(assay.points);
}

Result<DriftAssay> assay_drift(std::span<const DriftPoint> points,
                               const InstrumentTerms& instrument,
                               double coverage) {
  DriftAssay assay;
  assay.points.assign(points.begin(), points.end());
  assay.instrument = instrument;
  assay.distinct = points.empty() ? 0 : distinct_temperatures(points);
  CurveTerms terms;
  const std::vector<DriftPoint> means = set_point_means(points);
  terms.sweeps = both_sweeps(means);
  assay.ageing = find_ageing(means, terms, instrument, coverage);
  if (const auto& bound = instrument.ageing) {
    assay.instrument.stability = assay.instrument.stability + *bound;
  }
  if (is_in_curve(assay)) terms.ageing = assay.ageing->rate;
  auto choice = choose_curve(points, terms, assay.instrument, coverage,
                             open_rates(assay));
  if (!choice && terms.ageing) {
    // A rate that the temperatures do not tell apart takes no curve along.
    terms.ageing.reset();
    choice = choose_curve(points, terms, assay.instrument, coverage);
  }
  if (!choice) return tl::unexpected<Error>(choice.error());
  assay.choice = std::move(*choice);
  assay.measured = measured_span(points);
  set_known(assay);
  if (const auto offset = sweep_offset(chosen_fit(assay))) {
    assay.hysteresis =
        Hysteresis{*offset, std::abs(offset->value) > offset->expanded,
                   lag_of(means, chosen_fit(assay)), false};
    if (const auto& lag = assay.hysteresis->lag) {
      assay.hysteresis->lag_significant = std::abs(lag->value) > lag->expanded;
    }
  }
  mark_outliers(assay);
  widen_thermometer(assay.choice, lag_bound_k(assay));
  assay.turnovers = curve_turnovers(assay.choice, assay.measured);
  assay.caveats = drift_caveats(assay);
  return assay;
}

}  // namespace clockassay
