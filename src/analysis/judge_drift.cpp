// SPDX-License-Identifier: GPL-3.0-or-later
#include <algorithm>
#include <cmath>
#include <string>

#include "analysis/drift_caveats.h"
#include "clockassay/analysis/assay_series.h"
#include "clockassay/base/number_text.h"
#include "clockassay/uncertainty/error_distribution.h"
#include "drift/widest_gap.h"

namespace clockassay {
namespace {

std::string shown(double value) {
  return number_text(value, 4);
}

std::string degrees(double celsius) {
  return shown(celsius) + " degC";
}

bool in_range(const DriftResult& result, double temperature_c) {
  const Span range = result.question.range.value_or(result.range);
  return temperature_c >= range.low_c && temperature_c <= range.high_c;
}

std::string where(const PointPlace& place) {
  std::string words = "At " + degrees(place.temperature_c);
  if (!place.source.empty()) words += " (" + place.source + ")";
  return words;
}

// As for one capture: less than two periods need not show a clock.
bool was_long_enough(const DriftResult& result, const SilentPoint& silent) {
  if (!silent.lasted_s) return true;
  return *silent.lasted_s * result.reference.value() >= 2.0;
}

void weigh_silence(const DriftResult& result, Verdict& verdict) {
  for (const SilentPoint& p : result.silent) {
    const bool counts = in_range(result, p.place.temperature_c);
    verdict.reasons.push_back(where(p.place) +
                              " there was no clock: " + p.finding +
                              (counts ? "." : "; that is beyond the range."));
    if (!counts) continue;
    const bool is_long = was_long_enough(result, p);
    if (!is_long) {
      verdict.reasons.push_back(
          "It was looked at for less than two periods, which need not show "
          "one: capture longer.");
    }
    if (p.constant && is_long) {
      verdict.decision = Decision::kFail;
    } else if (verdict.decision == Decision::kPass) {
      verdict.decision = Decision::kUndecided;
    }
  }
}

// Of many points with one warning the first speaks for all.
void weigh_warnings(const DriftResult& result, Verdict& verdict) {
  const Decision before = verdict.decision;
  std::vector<std::string> told;
  for (const TemperaturePoint& p : result.points) {
    for (const PointWarning& w : p.warnings) {
      const bool forbids = before == Decision::kPass   ? w.forbids_pass
                           : before == Decision::kFail ? w.forbids_fail
                                                       : false;
      if (!forbids) continue;
      verdict.decision = Decision::kUndecided;
      if (std::find(told.begin(), told.end(), w.code) != told.end()) continue;
      told.push_back(w.code);
      verdict.reasons.push_back(
          where(p.place) + ", no " + decision_name(before) +
          " because: " + w.message + " (" + w.code + ").");
    }
  }
}

bool is_marked(const DriftAssay& assay, std::size_t i) {
  return std::any_of(assay.outliers.begin(), assay.outliers.end(),
                     [i](const Outlier& o) { return o.point == i; });
}

// A curve does not answer for a point that is beyond a limit itself: a dip is
// no noise. Chosen: by more than twice its stated deviation, which one in forty
// of those that are on the limit is by chance; a marked one, or one of which
// nothing is stated, by anything. Scatter beyond what is stated excuses
// nothing: it may be the clock's own.
void weigh_points(const DriftResult& result, Verdict& verdict) {
  if (!result.assay || verdict.decision != Decision::kPass) return;
  const DriftAssay& assay = *result.assay;
  const CurveFit& fit = chosen_fit(assay);
  const double low = result.question.tolerance->low_ppm.to_double();
  const double high = result.question.tolerance->high_ppm.to_double();
  for (std::size_t i = 0; i < assay.points.size(); ++i) {
    const double error = assay.points[i].error.value();
    const double beyond = std::max(low - error, error - high);
    const bool excused =
        !is_marked(assay, i) && fit.scatter != Scatter::kEstimated;
    const double allowed = excused ? 2.0 * fit.expected[i] : 0.0;
    if (!in_range(result, assay.points[i].temperature_c) ||
        !(beyond > allowed)) {
      continue;
    }
    verdict.decision = Decision::kUndecided;
    verdict.reasons.push_back(
        where(result.points[i].place) + " the clock itself was " +
        shown(error) +
        " ppm off, beyond the limit, whatever the curve says. Measure there "
        "again, twice or more: crystals have dips.");
  }
}

void note_outvoted(const DriftResult& result, Verdict& verdict) {
  for (const OutvotedPoint& p : result.outvoted) {
    verdict.reasons.push_back(
        where(p.point.place) + " one reading was " + shown(p.off_ppm) +
        " ppm off the curve, and twice as many beside it are on it: they "
        "outvote it, and it is in no figure.");
  }
}

void weigh_losses(const DriftResult& result, Verdict& verdict) {
  if (result.lost.empty()) return;
  std::string list;
  for (const PointPlace& p : result.lost) {
    list += (list.empty() ? "" : ", ") + degrees(p.temperature_c);
  }
  verdict.reasons.push_back(
      "What was recorded at " + list +
      " could not be used, so it does not speak for the clock" +
      (verdict.decision == Decision::kPass ? ", and may speak against it: no "
                                             "pass without it."
                                           : "."));
  if (verdict.decision == Decision::kPass) {
    verdict.decision = Decision::kUndecided;
  }
}

void weigh_series(const DriftResult& result, Verdict& verdict) {
  const auto hold = [&verdict](const char* why) {
    if (verdict.decision != Decision::kPass) return;
    verdict.decision = Decision::kUndecided;
    verdict.reasons.push_back(why);
  };
  if (result.one_way) {
    hold(
        "The temperature went one way only, so a crystal that lags behind the "
        "thermometer would not show: it may not have come to the ends of the "
        "range. Let it come back within the same capture.");
  }
  if (result.shared.assumed_one) {
    hold(
        "The stored results do not state their timebase, and may be of "
        "several: state it (--timebase).");
  }
}

// A curve over numbers of another unit is none of this part.
void weigh_unit(const DriftResult& result, Verdict& verdict) {
  if (!unit_in_question(result)) return;
  verdict.decision = Decision::kUndecided;
  verdict.reasons.push_back(
      "Temperatures come to " + degrees(result.assay->measured.high_c) +
      ": are they degrees Fahrenheit? Neither pass nor fail while that is "
      "open.");
  verdict.advice.push_back(
      "Write temperature_c in degrees Celsius. If they are, leave out what is "
      "above 125 degC, or ask for a range that comes as far.");
}

bool is_no_crystal(const PartFinding& part) {
  return part.kind == PartKind::kRcOscillator ||
         part.kind == PartKind::kNoQuartz;
}

// Lowest and highest of the curve where it was measured.
void advise_shift(const DriftResult& result, Verdict& verdict) {
  if (!result.assay || !result.question.expect) return;
  const Span range{
      std::max(result.range.low_c, result.assay->measured.low_c),
      std::min(result.range.high_c, result.assay->measured.high_c)};
  if (range.low_c > range.high_c) return;
  const auto band = band_over(result.assay->choice, range, std::nullopt);
  const auto by_value = [](const BandPlace& a, const BandPlace& b) {
    return a.error.value < b.error.value;
  };
  const auto ends = std::minmax_element(band.begin(), band.end(), by_value);
  const double low = ends.first->error.value;
  const double high = ends.second->error.value;
  const double low_limit = result.question.tolerance->low_ppm.to_double();
  const double high_limit = result.question.tolerance->high_ppm.to_double();
  const double width = high - low;
  // What was not measured is in no figure here.
  const bool is_part =
      range.low_c > result.range.low_c || range.high_c < result.range.high_c;
  const std::string over = is_part ? "where it was measured, " +
                                         degrees(range.low_c) + " to " +
                                         degrees(range.high_c)
                                   : "over the range";
  if (width > high_limit - low_limit) {
    verdict.advice.push_back(
        "The curve spans " + shown(width) + " ppm " + over + ", the limits " +
        shown(high_limit - low_limit) +
        " ppm: no shift, and so no trimming and no load capacitors, can bring "
        "it within. It takes another part, or a correction by temperature.");
    return;
  }
  const double shift = 0.5 * (low_limit + high_limit) - 0.5 * (low + high);
  constexpr double kMostPull = 3000.0;  // ppm: no load pulls a crystal farther
  if (std::abs(shift) > kMostPull && !is_no_crystal(result.part)) {
    verdict.advice.push_back(
        "The curve is " + shown(-shift) +
        " ppm from the middle of its limits: no load capacitors do that. Check "
        "what is expected (--expect), the units of the frequencies, and which "
        "clock was recorded.");
    return;
  }
  verdict.advice.push_back(
      "The curve spans " + shown(width) + " ppm " + over + ". Shifted by " +
      shown(shift) + " ppm as a whole it would keep " +
      shown(0.5 * (high_limit - low_limit - width)) + " ppm from its limits: " +
      (is_no_crystal(result.part)
           ? "trim the oscillator."
           : "less load makes a crystal faster, more slower."));
}

void advise_undecided(const DriftResult& result, Verdict& verdict) {
  if (!result.assay) return;
  const DriftAssay& assay = *result.assay;
  if (result.extrapolated) {
    verdict.advice.push_back(
        "Measure at the ends of the range, " + degrees(result.range.low_c) +
        " and " + degrees(result.range.high_c) +
        (result.question.expect ? ""
                                : ", and about 25 degC, or state what is "
                                  "expected (--expect)") +
        ".");
  }
  if (!tested_between(assay)) {
    const Span gap = widest_gap(assay.points);
    verdict.advice.push_back(
        "Measure at more temperatures, five different ones at least: the "
        "widest gap is about " +
        degrees(0.5 * (gap.low_c + gap.high_c)) + ".");
  } else if (chosen_fit(assay).dof < 2) {
    verdict.advice.push_back(
        "Measure at more temperatures: some must be left over to test the "
        "curve with.");
  }
  const Stated& at = result.verdict->closest.error;
  const double common = result.shared.terms.common.value();
  // Chosen: more than half of U.
  const bool is_most = 0.95 * common > 0.5 * at.expanded;
  if (result.question.expect && !is_most &&
      result.shared.timebase.kind == TimebaseKind::kAssumed) {
    verdict.advice.push_back(
        "State what is known of the instrument's timebase "
        "(--timebase): ±" +
        shown(common) + " ppm is assumed.");
  }
  if (result.shared.assumed_one) {
    verdict.advice.push_back(
        "State the timebase that the stored results were measured by: "
        "--timebase, such as 25ppm.");
  }
  if (result.question.expect && is_most) {
    verdict.advice.push_back(
        "The instrument's timebase, within ±" + shown(common) +
        " ppm, is most of U: calibrate it and state it (--timebase, "
        "--instrument), or record a known clock beside (--reference). What "
        "temperature alone does is judged without --expect: there it cancels.");
  }
  if (!result.lost.empty()) {
    verdict.advice.push_back("Record again what could not be used.");
  }
}

Check range_check(const DriftResult& result, Decision decision) {
  Check check;
  check.check = "temperature_range";
  check.subject = degrees(result.question.range->low_c) + " to " +
                  degrees(result.question.range->high_c);
  check.decision = decision;
  check.low = result.question.tolerance->low_ppm.to_double();
  check.high = result.question.tolerance->high_ppm.to_double();
  check.unit = "ppm";
  check.source = "--tolerance";
  if (!result.verdict) return check;
  const Stated& at = result.verdict->closest.error;
  check.value = at.value;
  check.expanded_uncertainty = at.expanded;
  // Of that one temperature, so it is no larger over the range; where something
  // else decides it would say what nobody knows.
  const bool by_band = decision == result.verdict->decision &&
                       !result.verdict->held_back && !result.extrapolated;
  if (by_band && is_proper(at.error)) {
    check.probability_of_conformity =
        probability_within(at.error, at.value, *check.low, *check.high);
  }
  return check;
}

Verdict blank_verdict(const DriftResult& result) {
  Verdict verdict;
  verdict.clock = result.board;
  if (verdict.clock.empty() && result.question.expect) {
    verdict.clock = result.question.expect->text;
  }
  verdict.capture = result.series;
  verdict.channel = result.channel;
  verdict.coverage = result.question.coverage;
  verdict.expected_frequency = result.reference;
  verdict.nominal_source = result.reference;
  if (result.question.expect) {
    verdict.expected = result.question.expect->frequency_hz.to_string();
    verdict.nominal_source =
        Hertz(result.question.expect->source_hz.to_double());
  }
  return verdict;
}

}  // namespace

std::optional<Verdict> judge_drift(const DriftResult& result) {
  if (!result.question.tolerance || !result.question.range) return std::nullopt;
  Verdict verdict = blank_verdict(result);
  if (result.verdict) {
    verdict.decision = result.verdict->decision;
    verdict.reasons = result.verdict->reasons;
    verdict.error = Ppm(result.worst->error.value);
    verdict.expanded_uncertainty = Ppm(result.worst->error.expanded);
  } else {
    verdict.reasons.push_back("There is no curve to judge.");
  }
  note_outvoted(result, verdict);
  weigh_points(result, verdict);
  weigh_warnings(result, verdict);
  weigh_series(result, verdict);
  weigh_losses(result, verdict);
  weigh_silence(result, verdict);
  weigh_unit(result, verdict);
  if (verdict.decision == Decision::kFail) {
    if (result.verdict && result.verdict->decision == Decision::kFail) {
      advise_shift(result, verdict);
    } else {
      verdict.advice.push_back(
          "Where the clock stands still look at the oscillator's margin at "
          "that temperature: load, series resistor, supply.");
    }
  }
  if (verdict.decision == Decision::kUndecided) {
    advise_undecided(result, verdict);
  }
  verdict.checks.push_back(range_check(result, verdict.decision));
  verdict.probability_of_conformity =
      verdict.checks.front().probability_of_conformity;
  return verdict;
}

}  // namespace clockassay
