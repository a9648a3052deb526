// SPDX-License-Identifier: GPL-3.0-or-later
#include "analysis/drift_caveats.h"

#include <algorithm>
#include <cmath>
#include <string>
#include <vector>

#include "clockassay/analysis/assay_series.h"
#include "clockassay/base/number_text.h"
#include "drift/widest_gap.h"
#include "drift/within_span.h"

namespace clockassay {
namespace {

std::string shown(double value) {
  return number_text(value, 4);
}

// What is said of the temperatures' own errors.
void add_thermometer(const DriftResult& result,
                     std::vector<std::string>& said) {
  const auto& points = result.points;
  const auto lacking =
      std::count_if(points.begin(), points.end(), [](const auto& p) {
        return !(p.place.u_temperature_c.value_or(0.0) > 0.0);
      });
  if (lacking == static_cast<std::ptrdiff_t>(points.size())) {
    said.push_back(
        "No uncertainty of the temperatures is stated: they are taken as "
        "exact.");
  } else if (lacking > 0) {
    said.push_back("Of " + std::to_string(lacking) + " of " +
                   std::to_string(points.size()) +
                   " temperatures no uncertainty is stated: they are taken as "
                   "exact.");
  }
  using Thermometer = DriftResult::Thermometer;
  if (result.thermometer == Thermometer::kNotStated) {
    said.push_back(
        "What the thermometer reads wrong alike at all temperatures is not in "
        "U, because nothing states it: it moves the whole curve. State its "
        "tolerance with --thermometer, such as 0.5K.");
  } else if (result.thermometer == Thermometer::kOfLog) {
    said.push_back("The log is of one thermometer: twice its stated u, ±" +
                   shown(result.shared.terms.thermometer_k) +
                   " K, counts as what it may read wrong alike throughout. "
                   "State its tolerance with --thermometer if it is another.");
  }
}

// Within one capture no ageing is looked for.
void add_ageing(const DriftResult& result, std::vector<std::string>& said) {
  const auto& points = result.points;
  const bool told = std::any_of(
      points.begin(), points.end(),
      [](const auto& p) { return p.place.time_s || p.place.window; });
  if (told || result.question.ageing_limit) return;
  said.push_back(
      "No times are stated: that the clock does not age from the first reading "
      "to the last is assumed. State time_s, or how far it may "
      "(--ageing-limit).");
}

void note_assumed(DriftResult& result) {
  if (result.thermometer == DriftResult::Thermometer::kNotStated) {
    result.assumed.push_back("thermometer right");
  }
  if (ageing_not_told(*result.assay)) result.assumed.push_back("no ageing");
  if (unit_in_question(result)) result.assumed.push_back("degrees Celsius");
}

void add_timebase(const DriftResult& result, std::vector<std::string>& said) {
  if (!result.shared.is_one) {
    said.push_back(
        "The points were measured by several timebases: each may be off by "
        "what is stated of it, in any pattern, so nothing of it cancels.");
  }
  if (result.shared.assumed_one) {
    said.push_back(
        "The stored results do not state their timebase: they are taken for "
        "those of one instrument. If they are, say so with --timebase; there "
        "is no pass without.");
  }
  if (result.shared.timebase.kind == TimebaseKind::kReference &&
      result.shared.is_one) {
    said.push_back(
        "Measured against a reference channel: how far that moves between "
        "points is not stated, ±" +
        shown(result.shared.terms.stability.value()) +
        " ppm is assumed. The instrument's own stability is no matter.");
  }
}

// So far off is no clock of this part, but another.
void add_gross(const DriftResult& result, std::vector<std::string>& said) {
  constexpr double kGross = 1e5;  // ppm; chosen: ten times an RC oscillator's
  if (!result.question.expect) return;
  if (!(std::abs(result.worst->error.value) >= kGross)) return;
  said.push_back("The clock is " +
                 shown(std::abs(result.worst->error.value) * 1e-4) +
                 " % off what is expected: check the expected frequency "
                 "(--expect), and which clock was recorded.");
}

void add_unit(const DriftResult& result, std::vector<std::string>& said) {
  if (!unit_in_question(result)) return;
  said.push_back("Temperatures come to " +
                 shown(result.assay->measured.high_c) +
                 " degC: are they degrees Fahrenheit?");
}

void add_gap(const DriftResult& result, std::vector<std::string>& said) {
  std::vector<double> at;
  for (const TemperaturePoint& p : result.points) {
    at.push_back(p.place.temperature_c);
  }
  // Chosen: a curve over three points has gaps of a half.
  if (at.size() < 4) return;
  const Span gap = widest_gap(at);
  const auto [low, high] = std::minmax_element(at.begin(), at.end());
  if (!(width_of(gap) > (*high - *low) / 3.0)) return;
  said.push_back("Nothing was measured between " + shown(gap.low_c) + " and " +
                 shown(gap.high_c) +
                 " degC: a dip there, as crystals may have, would not show.");
}

}  // namespace

// Chosen: oscillators are hardly specified beyond. Who asks about such a range
// knows it to be hot, or speaks of it in the unit of the series.
bool unit_in_question(const DriftResult& result) {
  constexpr double kHot = 125.0;
  return result.assay && result.assay->measured.high_c > kHot &&
         !(result.question.range && result.question.range->high_c > kHot);
}

void add_drift_caveats(DriftResult& result) {
  note_assumed(result);
  std::vector<std::string>& said = result.caveats;
  add_thermometer(result, said);
  add_ageing(result, said);
  add_timebase(result, said);
  if (!result.question.expect &&
      !within(kDatumTemperature, result.assay->known)) {
    said.push_back("Errors are relative to the curve at " +
                   shown(kDatumTemperature) +
                   " degC, which lies beyond what was measured.");
  }
  add_unit(result, said);
  add_gross(result, said);
  add_gap(result, said);
  said.insert(said.end(), result.assay->caveats.begin(),
              result.assay->caveats.end());
}

}  // namespace clockassay
