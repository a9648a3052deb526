// SPDX-License-Identifier: GPL-3.0-or-later
#include "clockassay/drift/range_verdict.h"

#include <algorithm>
#include <cmath>
#include <set>

#include "drift/measured_fail.h"
#include "drift/shown_number.h"
#include "drift/within_span.h"

namespace clockassay {
namespace {

// What the limits are relative to must be known as well.
bool reference_measured(const RangeLimits& limits, const DriftAssay& assay) {
  return !limits.relative_to_c || within(*limits.relative_to_c, assay.known);
}

// A clock that scatters by more than is stated of its points, or by nobody
// knows how much, has to keep the limits as one more reading would show it, not
// only on the mean; nor does it fail by the mean.
double judged_expanded(const BandPlace& place, const CurveFit& fit) {
  const double expanded = place.error.expanded;
  if (fit.scatter == Scatter::kAsStated) return expanded;
  return std::max(expanded, place.reading_expanded);
}

// How far the band is from the nearer limit; below zero it crosses it.
double room(const BandPlace& place, const CurveFit& fit,
            const RangeLimits& limits) {
  const double expanded = judged_expanded(place, fit);
  return std::min(limits.high.value() - (place.error.value + expanded),
                  (place.error.value - expanded) - limits.low.value());
}

// Whether the points say something of a temperature: any between them, where
// they test the curve; else where they are.
bool is_known_at(const DriftAssay& assay, const BandPlace& place,
                 bool between) {
  const double temperature_c = place.temperature_c;
  const Span& known = place.branch == Sweep::kUp     ? assay.known_up
                      : place.branch == Sweep::kDown ? assay.known_down
                                                     : assay.known;
  if (!within(temperature_c, known)) return false;
  if (between) return true;
  return std::any_of(
      assay.points.begin(), assay.points.end(), [&](const DriftPoint& p) {
        return p.temperature_c == temperature_c &&
               (place.branch == Sweep::kNotStated || p.sweep == place.branch);
      });
}

// Where the points are, for curves that are known nowhere else.
void add_measured(const DriftAssay& assay, const CurveChoice& choice,
                  const RangeLimits& limits, std::vector<BandPlace>& band) {
  std::set<double> at;
  for (const DriftPoint& p : assay.points) at.insert(p.temperature_c);
  for (const double t : at) {
    if (!within(t, limits.range)) continue;
    const auto there = band_at(choice, t, limits.relative_to_c, true);
    band.insert(band.end(), there.begin(), there.end());
  }
}

std::vector<BandPlace> judged_band(const CurveChoice& choice,
                                   const RangeLimits& limits) {
  const bool with_reading =
      choice.fits[choice.chosen].scatter != Scatter::kAsStated;
  return band_over(choice, limits.range, limits.relative_to_c, with_reading);
}

Decision band_decision(const DriftAssay& assay, const CurveChoice& choice,
                       std::vector<BandPlace> band, const RangeLimits& limits) {
  const CurveFit& fit = choice.fits[choice.chosen];
  const bool between = tested_between(assay);
  if (!between) add_measured(assay, choice, limits, band);
  bool all_pass = true;
  for (const BandPlace& place : band) {
    // Zero by definition, at the temperature the limits are relative to.
    if (place.temperature_c == limits.relative_to_c &&
        place.error.expanded == 0.0 && limits.low.value() <= 0.0 &&
        limits.high.value() >= 0.0) {
      continue;
    }
    const Decision one = decide(place.error.value, judged_expanded(place, fit),
                                limits.low.value(), limits.high.value());
    // Beyond the measured span nothing is known well enough to fail a part.
    if (one == Decision::kFail && is_known_at(assay, place, between) &&
        reference_measured(limits, assay)) {
      return Decision::kFail;
    }
    all_pass = all_pass && one == Decision::kPass;
  }
  return all_pass ? Decision::kPass : Decision::kUndecided;
}

std::string place_words(const BandPlace& place) {
  std::string words =
      shown_with(place.error.value, place.error.expanded, "ppm") + " at " +
      shown(place.temperature_c) + " degC";
  if (place.branch != Sweep::kNotStated) {
    words += place.branch == Sweep::kUp ? " on the way up" : " on the way down";
  }
  return words;
}

std::string ageing_words() {
  return "Ageing cannot be told from temperature, because they went together: "
         "the curve may be either. Measure some temperatures again at the end; "
         "or state how far the part may age in that time (--ageing-limit).";
}

// A curve that may be ageing is no curve against temperature, and one that does
// not fit may be beyond a limit where the clock is not: then only readings
// speak.
void weigh_readings(const DriftAssay& assay, const RangeLimits& limits,
                    RangeVerdict& verdict) {
  const CurveFit& fit = chosen_fit(assay);
  const bool untold = ageing_not_told(assay);
  const bool by_curve = verdict.decision == Decision::kFail;
  if (by_curve && !untold && fit.converged) return;
  if (!by_curve && fit.scatter == Scatter::kAsStated) return;
  if (!reference_measured(limits, assay)) return;
  if (const auto seen = measured_fail(assay, limits)) {
    verdict.decision = Decision::kFail;
    verdict.by_reading = true;
    verdict.reasons.push_back(
        "At " + shown(assay.points[seen->point].temperature_c) +
        " degC the clock was read " +
        shown_with(seen->error_ppm, seen->expanded_ppm, "ppm") +
        " off, beyond the limit, whatever the curve is.");
    return;
  }
  if (!by_curve) return;
  verdict.decision = Decision::kUndecided;
  verdict.reasons.push_back(untold ? ageing_words()
                                   : "The fit did not settle.");
}

std::string span_words(const Span& span) {
  return shown(span.low_c) + " to " + shown(span.high_c) + " degC";
}

// What was left, by the range or by what the limits are relative to.
std::string left_words(const DriftAssay& assay, const RangeLimits& limits) {
  if (within(limits.range, assay.known)) {
    return "The limits are relative to the curve at " +
           shown(*limits.relative_to_c) +
           " degC, which is not within what was measured, " +
           span_words(assay.measured) + ": beyond, the curve is a guess.";
  }
  std::string words =
      "The range " + span_words(limits.range) + " leaves what was measured, " +
      span_words(assay.measured) + ": beyond, the curve is a guess.";
  if (!chosen_fit(assay).terms.sweeps) return words;
  return words + " The way up covers " + span_words(assay.known_up) +
         ", the way down " + span_words(assay.known_down) +
         ": read both over all of the range.";
}

// What forbids a pass whatever the band.
void hold_back(const DriftAssay& assay, const RangeLimits& limits,
               RangeVerdict& verdict) {
  const CurveFit& fit = chosen_fit(assay);
  std::vector<std::string> why;
  if (verdict.extrapolated) {
    why.push_back(left_words(assay, limits));
  }
  if (fit.dof < 1) {
    why.push_back("No point is left over to test the curve with.");
  } else if (!tested_between(assay)) {
    why.push_back(
        "The points are at " + std::to_string(assay.distinct) +
        " different temperatures: it takes five at least to tell a cubic, and "
        "whether it is one, and a sixth where more than half of the span lies "
        "between two; and of each way up or down, none so far apart. Between "
        "them the curve is not known, however often "
        "they are repeated.");
  }
  if (ageing_not_told(assay)) why.push_back(ageing_words());
  if (ages_beyond_bound(assay)) {
    why.push_back("The readings age by " + shown(assay.ageing->change_ppm) +
                  " ppm, more than the " +
                  shown(assay.instrument.ageing->value()) +
                  " ppm that are stated (--ageing-limit).");
  }
  if (!fit.converged) why.push_back("The fit did not settle.");
  if (why.empty() || verdict.decision != Decision::kPass) {
    if (verdict.extrapolated) verdict.reasons.push_back(why.front());
    return;
  }
  verdict.decision = Decision::kUndecided;
  verdict.held_back = true;
  verdict.reasons.insert(verdict.reasons.end(), why.begin(), why.end());
}

void weigh_outliers(const DriftAssay& assay, const RangeLimits& limits,
                    RangeVerdict& verdict) {
  if (assay.outliers.empty()) return;
  verdict.without_outliers = Decision::kUndecided;
  if (assay.without_outliers) {
    // The span stays that of all points: what was measured was measured.
    verdict.without_outliers =
        band_decision(assay, *assay.without_outliers,
                      judged_band(*assay.without_outliers, limits), limits);
  }
  if (verdict.decision == Decision::kUndecided || verdict.by_reading ||
      *verdict.without_outliers == verdict.decision) {
    return;
  }
  verdict.reasons.push_back(
      std::string("The marked points decide: with them it is a ") +
      decision_name(verdict.decision) + ", without them " +
      decision_name(*verdict.without_outliers) +
      ". Measure there again: two readings that agree outvote one.");
  verdict.held_back = verdict.decision == Decision::kPass;
  verdict.decision = Decision::kUndecided;
}

}  // namespace

RangeVerdict judge_range(const DriftAssay& assay, const RangeLimits& limits) {
  RangeVerdict verdict;
  const std::vector<BandPlace> band = judged_band(assay.choice, limits);
  verdict.worst = worst_of(band);
  verdict.closest = *std::min_element(
      band.begin(), band.end(), [&](const BandPlace& a, const BandPlace& b) {
        return room(a, chosen_fit(assay), limits) <
               room(b, chosen_fit(assay), limits);
      });
  verdict.extrapolated =
      !within(limits.range, assay.known) || !reference_measured(limits, assay);
  verdict.decision = band_decision(assay, assay.choice, band, limits);
  const bool at_worst =
      verdict.worst.temperature_c == verdict.closest.temperature_c &&
      verdict.worst.branch == verdict.closest.branch;
  verdict.reasons.push_back(
      "The curve comes to " + place_words(verdict.worst) +
      (at_worst
           ? ", where its band is closest to a limit, or farthest beyond."
           : "; its band is closest to a limit, or farthest beyond, with " +
                 place_words(verdict.closest) + "."));
  const CurveFit& fit = chosen_fit(assay);
  if (fit.scatter != Scatter::kAsStated) {
    verdict.reasons.push_back(
        (fit.scatter == Scatter::kTooLarge
             ? "The points are farther from the curve than is stated of them, "
               "up to " +
                   shown(assay.choice.misfit_ppm) +
                   " ppm: that may be the clock's own, or a curve that is none "
                   "of line, parabola and cubic"
             : "The scatter is not stated, and may be the clock's own: the "
               "largest residual, " +
                   shown(assay.choice.misfit_ppm) + " ppm, counts everywhere") +
        ". A pass, or a fail by the curve, takes ± " +
        shown(judged_expanded(verdict.closest, fit)) + " ppm about it, at " +
        shown(verdict.closest.temperature_c) + " degC.");
  }
  if (!verdict.extrapolated && !within(limits.range, assay.measured)) {
    verdict.reasons.push_back(
        "The range ends beyond what was measured, " +
        shown(assay.measured.low_c) + " to " + shown(assay.measured.high_c) +
        " degC, but by less than a 256th of that: taken as measured.");
  }
  weigh_readings(assay, limits, verdict);
  hold_back(assay, limits, verdict);
  weigh_outliers(assay, limits, verdict);
  return verdict;
}

}  // namespace clockassay
