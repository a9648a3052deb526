// SPDX-License-Identifier: GPL-3.0-or-later
#include "clockassay/drift/range_verdict.h"

#include <algorithm>
#include <cmath>

#include "drift/shown_number.h"

namespace clockassay {
namespace {

bool within(double temperature_c, const Span& span) {
  return temperature_c >= span.low_c && temperature_c <= span.high_c;
}

// What the limits are relative to must be known as well.
bool reference_measured(const RangeLimits& limits, const Span& measured) {
  return !limits.relative_to_c || within(*limits.relative_to_c, measured);
}

// How far the band is from the nearer limit; below zero it crosses it.
double room(const BandPlace& place, const RangeLimits& limits) {
  return std::min(
      limits.high.value() - (place.error.value + place.error.expanded),
      (place.error.value - place.error.expanded) - limits.low.value());
}

Decision band_decision(const std::vector<BandPlace>& band, const Span& measured,
                       const RangeLimits& limits) {
  bool all_pass = true;
  for (const BandPlace& place : band) {
    // Zero by definition, at the temperature the limits are relative to.
    if (place.temperature_c == limits.relative_to_c &&
        place.error.expanded == 0.0 && limits.low.value() <= 0.0 &&
        limits.high.value() >= 0.0) {
      continue;
    }
    const Decision one = decide(place.error.value, place.error.expanded,
                                limits.low.value(), limits.high.value());
    // Beyond the measured span nothing is known well enough to fail a part.
    if (one == Decision::kFail && within(place.temperature_c, measured) &&
        reference_measured(limits, measured)) {
      return Decision::kFail;
    }
    all_pass = all_pass && one == Decision::kPass;
  }
  return all_pass ? Decision::kPass : Decision::kUndecided;
}

std::string place_words(const BandPlace& place) {
  std::string words = shown(place.error.value) + " ppm ± " +
                      shown(place.error.expanded) + " ppm at " +
                      shown(place.temperature_c) + " degC";
  if (place.branch != Sweep::kNotStated) {
    words += place.branch == Sweep::kUp ? " on the way up" : " on the way down";
  }
  return words;
}

// What forbids a pass whatever the band.
void hold_back(const DriftAssay& assay, const RangeLimits& limits,
               RangeVerdict& verdict) {
  const CurveFit& fit = chosen_fit(assay);
  std::vector<std::string> why;
  if (verdict.extrapolated) {
    const bool range_left = !within(limits.range.low_c, assay.measured) ||
                            !within(limits.range.high_c, assay.measured);
    why.push_back(
        (range_left ? "The range " + shown(limits.range.low_c) + " to " +
                          shown(limits.range.high_c) +
                          " degC leaves what was measured, "
                    : "The limits are relative to the curve at " +
                          shown(*limits.relative_to_c) +
                          " degC, which is not within what was measured, ") +
        shown(assay.measured.low_c) + " to " + shown(assay.measured.high_c) +
        " degC: beyond, the curve is a guess.");
  }
  if (fit.dof < 1) {
    why.push_back("No point is left over to test the curve with.");
  }
  if (!fit.converged) why.push_back("The fit did not settle.");
  if (why.empty() || verdict.decision != Decision::kPass) {
    if (verdict.extrapolated) verdict.reasons.push_back(why.front());
    return;
  }
  verdict.decision = Decision::kUndecided;
  verdict.reasons.insert(verdict.reasons.end(), why.begin(), why.end());
}

void weigh_outliers(const DriftAssay& assay, const RangeLimits& limits,
                    RangeVerdict& verdict) {
  if (assay.outliers.empty()) return;
  verdict.without_outliers = Decision::kUndecided;
  if (assay.without_outliers) {
    // The span stays that of all points: what was measured was measured.
    verdict.without_outliers = band_decision(
        band_over(*assay.without_outliers, limits.range, limits.relative_to_c),
        assay.measured, limits);
  }
  if (verdict.decision == Decision::kUndecided ||
      *verdict.without_outliers == verdict.decision) {
    return;
  }
  verdict.reasons.push_back(
      std::string("The marked points decide: with them it is a ") +
      decision_name(verdict.decision) + ", without them " +
      decision_name(*verdict.without_outliers) + ". Measure there again.");
  verdict.decision = Decision::kUndecided;
}

}  // namespace

RangeVerdict judge_range(const DriftAssay& assay, const RangeLimits& limits) {
  RangeVerdict verdict;
  std::vector<BandPlace> band =
      band_over(assay.choice, limits.range, limits.relative_to_c);
  verdict.worst = worst_of(band);
  verdict.closest = *std::min_element(
      band.begin(), band.end(), [&](const BandPlace& a, const BandPlace& b) {
        return room(a, limits) < room(b, limits);
      });
  verdict.extrapolated = !within(limits.range.low_c, assay.measured) ||
                         !within(limits.range.high_c, assay.measured) ||
                         !reference_measured(limits, assay.measured);
  verdict.decision = band_decision(band, assay.measured, limits);
  verdict.reasons.push_back("The curve comes to " + place_words(verdict.worst) +
                            "; its band is closest to a limit, or farthest "
                            "beyond, with " +
                            place_words(verdict.closest) + ".");
  hold_back(assay, limits, verdict);
  weigh_outliers(assay, limits, verdict);
  return verdict;
}

}  // namespace clockassay
