// SPDX-License-Identifier: GPL-3.0-or-later
#include "report/comparison_json.h"

#include "report/json_values.h"
#include "report/names.h"

namespace clockassay {
namespace {

using namespace json_values;

Json figure_json(const std::optional<Figure>& f) {
  if (!f) return nullptr;
  return {{"value", f->value},
          {"standard_uncertainty", f->standard_uncertainty}};
}

Json seen_json(const std::optional<ClockSeen>& c) {
  if (!c) return nullptr;
  return {{"frequency_hz", c->frequency.value()},
          {"capture_uncertainty_ppm", c->u.value()},
          {"timebase_half_width_ppm", c->half_width.value()},
          {"expanded_uncertainty_ppm", c->expanded.value()},
          {"expanded_capture_uncertainty_ppm", c->expanded_alone.value()},
          {"period_jitter_rms_s", number(c->period_jitter)},
          {"edge_jitter_rms_s", figure_json(c->edge_jitter)},
          {"duty", figure_json(c->duty)},
          {"doubt", text_or_null(c->doubt)}};
}

const char* presence_name(Presence presence) {
  switch (presence) {
    case Presence::kInBoth:
      return "in_both";
    case Presence::kOnlyBefore:
      return "gone";
    case Presence::kOnlyAfter:
      break;
  }
  return "new";
}

Json shift_json(const ClockShift& s) {
  const bool both = s.presence == Presence::kInBoth;
  Json out = {{"channel", raw(s.channel)},
              {"presence", presence_name(s.presence)}};
  const auto where_both = [both](const Json& value) {
    return both ? value : Json(nullptr);
  };
  out["shift_ppm"] = where_both(s.shift.value());
  out["expanded_uncertainty_ppm"] = where_both(s.expanded.value());
  out["chance"] = where_both(s.chance);
  out["significant"] = where_both(s.significant);
  out["period_jitter_ratio"] = number(s.period_jitter_ratio);
  out["edge_jitter_change_s"] = figure_json(s.edge_jitter_change);
  out["jitter_changed"] =
      s.edge_jitter_change ? Json(s.jitter_changed) : Json(nullptr);
  out["duty_change"] = figure_json(s.duty_change);
  out["duty_changed"] = s.duty_change ? Json(s.duty_changed) : Json(nullptr);
  out["decision"] =
      s.decision ? Json(decision_name(*s.decision)) : Json(nullptr);
  out["before"] = seen_json(s.before);
  out["after"] = seen_json(s.after);
  return out;
}

Json limit_json(const std::optional<ToleranceBand>& limit) {
  if (!limit) return nullptr;
  return Json::array({limit->low_ppm.to_double(), limit->high_ppm.to_double()});
}

}  // namespace

Json comparisons_json(const ComparisonResult& comparison) {
  return array_of(comparison.shifts, shift_json);
}

Json comparison_json(const ComparisonResult& c) {
  return {{"before", raw(c.before)},
          {"after", raw(c.after)},
          {"same_timebase", c.options.moves.has_value()},
          {"timebase_moves_ppm", number(c.options.moves)},
          {"movement_assumed", c.movement_assumed},
          {"limit_ppm", limit_json(c.options.limit)},
          {"coverage", c.options.coverage},
          {"moved_alike", c.moved_alike}};
}

}  // namespace clockassay
