// SPDX-License-Identifier: GPL-3.0-or-later
#include "clockassay/drift/next_temperature.h"

#include <algorithm>
#include <vector>

#include "base/median.h"

namespace clockassay {
namespace {

constexpr int kCandidates = 64;  // steps over the range: chosen, 2 K over 125 K

// As good as the median point, at the time of the last and on the curve.
DriftPoint typical_point(const DriftAssay& assay, Sweep branch) {
  DriftPoint point = assay.points.front();
  std::vector<double> u;
  std::vector<double> u_temperature;
  for (const DriftPoint& p : assay.points) {
    if (p.u) u.push_back(p.u->value());
    u_temperature.push_back(p.u_temperature_c);
    if (p.time_s) point.time_s = std::max(*p.time_s, *point.time_s);
  }
  if (!u.empty()) point.u = Ppm(median(u));
  point.u_temperature_c = median(u_temperature);
  point.sweep = branch;
  return point;
}

}  // namespace

std::optional<NextTemperature> next_temperature(const DriftAssay& assay,
                                                const RangeLimits& limits) {
  const CurveFit& fit = chosen_fit(assay);
  const BandPlace worst =
      worst_of(band_over(assay.choice, limits.range, limits.relative_to_c));
  const CurvePlace place{worst.temperature_c, 0, worst.branch,
                         limits.relative_to_c};
  NextTemperature best;
  best.expanded_before_ppm = curve_at(fit, place).expanded;
  best.expanded_after_ppm = best.expanded_before_ppm;
  std::vector<DriftPoint> points = assay.points;
  points.push_back(typical_point(assay, worst.branch));
  for (int i = 0; i <= kCandidates; ++i) {
    DriftPoint& added = points.back();
    added.temperature_c =
        limits.range.low_c +
        (limits.range.high_c - limits.range.low_c) * i / kCandidates;
    added.error =
        Ppm(curve_at(fit, {added.temperature_c, 0, worst.branch, {}}).value);
    const auto with =
        fit_curve(points, fit.model, fit.terms, fit.instrument, fit.coverage);
    if (!with) continue;
    const double expanded = curve_at(*with, place).expanded;
    if (!(expanded < best.expanded_after_ppm)) continue;
    best.temperature_c = added.temperature_c;
    best.expanded_after_ppm = expanded;
  }
  if (!(best.expanded_after_ppm < best.expanded_before_ppm)) {
    return std::nullopt;
  }
  return best;
}

}  // namespace clockassay
