// SPDX-License-Identifier: GPL-3.0-or-later
#include "report/trend_json.h"

#include "report/json_values.h"

namespace clockassay {
namespace {

using namespace json_values;

Json timebase_json(const std::optional<Timebase>& t) {
  if (!t) return nullptr;
  return {{"kind", timebase_kind_name(t->kind)},
          {"offset_ppm", t->offset.value()},
          {"tolerance_ppm", t->tolerance.value()}};
}

Json point_json(const TrendPoint& p) {
  return {{"taken_s", p.taken_s},
          {"build", raw_or_null(p.label)},
          {"capture", raw(p.capture)},
          {"error_ppm", number(p.ppm)},
          {"expanded_uncertainty_ppm", number(p.expanded)},
          {"period_jitter_rms_s", number(p.period_jitter_s)},
          {"decision", p.decision ? text(*p.decision) : Json(nullptr)},
          {"timebase", timebase_json(p.timebase)},
          {"beyond_limits", p.beyond_limits}};
}

Json shift_json(const LevelShift& s) {
  return {{"first_point", s.first},
          {"before", s.before},
          {"after", s.after},
          {"expanded_uncertainty", s.expanded},
          {"chance", s.chance}};
}

Json limits_json(const std::optional<ControlLimits>& limits) {
  if (!limits) return nullptr;
  return {{"centre_ppm", limits->centre},
          {"low_ppm", limits->low},
          {"high_ppm", limits->high},
          {"sigma_ppm", limits->sigma}};
}

}  // namespace

Json trend_json(const Trend& t) {
  Json of = Json::object();
  for (const Tag& tag : t.of) of[raw(tag.key)] = raw(tag.value);
  return {{"clock", raw(t.clock)},
          {"of", of},
          {"relative_to", t.is_relative ? "median" : "expected"},
          {"captures_without_clock", t.silent},
          {"captures_of_one_time", t.same_time},
          {"points", array_of(t.points, point_json)},
          {"shifts_ppm", array_of(t.shifts, shift_json)},
          {"fewest_for_a_shift", t.fewest_for_a_shift},
          {"jitter_shifts_s", array_of(t.jitter_shifts, shift_json)},
          {"control_limits", limits_json(t.limits)}};
}

}  // namespace clockassay
