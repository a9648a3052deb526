// SPDX-License-Identifier: GPL-3.0-or-later
#include <algorithm>

#include "clockassay/report/plan_report.h"
#include "report/plan_json_parts.h"

namespace clockassay {
namespace {

Json pair_json(const CapacitorPair& pair) {
  return Json::array({pair.a.value(), pair.b.value()});
}

Json effect_json(const LoadEffect& e) {
  return {{"capacitors_f", pair_json(e.capacitors)},
          {"load_f", e.load.value()},
          {"load_uncertainty_f", e.load_uncertainty.value()},
          {"pull_ppm", e.pull.value()},
          {"pull_uncertainty_ppm", e.pull_uncertainty.value()},
          {"pull_low_ppm", e.pull_low.value()},
          {"pull_high_ppm", e.pull_high.value()},
          {"gain_factor", number(e.gain_factor)}};
}

Json effect_or_null(const std::optional<LoadEffect>& e) {
  return e ? effect_json(*e) : Json(nullptr);
}

Json stray_json(const LoadPlan& plan) {
  return {{"value_f", plan.stray.middle.value()},
          {"half_width_f", plan.stray.half_width.value()},
          {"where", plan.stray.per_pin ? "per_pin" : "across"},
          {"assumed", !plan.input.stray.has_value()}};
}

Json range_json(const std::vector<MotionalCrystal>& outline,
                Farads MotionalCrystal::*member) {
  Farads low = outline.front().*member;
  Farads high = low;
  for (const MotionalCrystal& c : outline) {
    low = std::min(low, c.*member);
    high = std::max(high, c.*member);
  }
  return Json::array({low.value(), high.value()});
}

Json drive_with_json(const std::optional<DriveWith>& d) {
  if (!d) return nullptr;
  return {{"series_resistor_ohm", d->resistor.value()},
          {"swing_v", d->swing.value()},
          {"current_rms_a", d->current_rms.value()},
          {"drive_w", d->power.value()}};
}

Json gain_with_json(const std::optional<GainWith>& g) {
  if (!g) return nullptr;
  return {{"series_resistor_ohm", g->resistor.value()},
          {"negative_resistance_ohm", g->negative.value()},
          {"safety_factor", g->safety_factor},
          {"margin", number(g->margin)}};
}

const char* board_gain_name(BoardGainOf of) {
  switch (of) {
    case BoardGainOf::kAsFitted:
      return "as_fitted";
    case BoardGainOf::kWithoutResistor:
      return "without_resistor";
    case BoardGainOf::kIdealAmplifier:
      return "ideal_amplifier";
  }
  return "";
}

Json excess_json(const std::optional<DriveExcess>& e) {
  if (!e) return nullptr;
  return {{"drive_w", e->power.value()},
          {"limit_w", e->limit.value()},
          {"limit_usual", e->is_usual},
          {"series_resistor_ohm", number(e->series)}};
}

Json start_json(const std::optional<StartUp>& start) {
  if (!start) return nullptr;
  return {{"growth_time_s", Json::array({start->growth_low.value(),
                                         start->growth_high.value()})},
          {"start_s",
           Json::array({start->shortest.value(), start->longest.value()})}};
}

}  // namespace

std::string plan_json(const LoadPlan& plan, const std::string& tool_version) {
  const std::optional<LoadEffect>& chosen = plan.chosen;
  Json beside = Json::array();
  for (const LoadEffect& e : plan.beside) beside.push_back(effect_json(e));
  Json tree = effect_or_null(chosen);
  if (!chosen) {
    tree = {{"capacitors_f", nullptr},
            {"load_f", nullptr},
            {"pull_ppm", nullptr},
            {"pull_uncertainty_ppm", nullptr}};
  }
  tree["sensitivity_ppm_per_pf"] = plan.sensitivity_ppm_per_pf;
  tree["sensitivity_range_ppm_per_pf"] =
      Json::array({plan.sensitivity_low, plan.sensitivity_high});
  tree["fitted"] = effect_or_null(plan.fitted);
  tree["closest"] = effect_or_null(plan.closest);
  tree["beside"] = beside;
  tree["without_capacitors"] = effect_or_null(plan.bare);
  tree["maybe_overtone"] = plan.maybe_overtone;
  tree["crystal_load_f"] = plan.input.crystal_load.value();
  tree["e_series"] = e_series_name(plan.input.series);
  tree["capacitor_tolerance"] = plan.input.capacitor_tolerance;
  tree["capacitor_tolerance_assumed"] = !plan.input.tolerance_stated;
  tree["stray"] = stray_json(plan);
  tree["crystal"] = {
      {"c1_f", range_json(plan.crystal.outline, &MotionalCrystal::c1)},
      {"c0_f", range_json(plan.crystal.outline, &MotionalCrystal::c0)},
      {"assumed", plan.crystal.assumed}};
  tree["probe"] = plan.probe ? Json{{"probe_f", plan.probe->probe.value()},
                                    {"pull_ppm", plan.probe->pull.value()}}
                             : Json(nullptr);
  tree["coverage"] = plan.input.coverage;
  return whole_result(PlanKind::kLoad, tree, tool_version);
}

std::string plan_json(const DrivePlan& plan, const std::string& tool_version) {
  const std::optional<DriveWith>& now =
      plan.with_fitted ? plan.with_fitted : plan.without;
  // Of the board as it stands; of the ideal amplifier beside.
  std::optional<BoardGain> board;
  if (plan.input.gm) board = board_gain(plan);
  Json tree = {{"critical_transconductance_s", number(plan.critical)},
               {"margin", board ? number(board->margin) : Json(nullptr)},
               {"drive_w", now ? Json(now->power.value()) : Json(nullptr)},
               {"series_resistor_ohm", plan.series_start.value()}};
  tree["margin_of"] = board ? Json(board_gain_name(board->of)) : Json(nullptr);
  tree["ideal_margin"] = number(plan.margin);
  tree["usual_margin"] = kUsualMargin;
  tree["usual_safety_factor"] =
      Json::array({kUsualSafetyLow, kUsualSafetyHigh});
  tree["load_resonance_resistance_ohm"] = plan.rl.value();
  tree["negative_resistance_ohm"] =
      board ? number(board->negative.value()) : Json(nullptr);
  tree["ideal_negative_resistance_ohm"] = number(plan.negative);
  tree["most_negative_resistance_ohm"] = plan.most_negative.value();
  tree["usual_transconductance_s"] = number(plan.asked_for);
  tree["best_transconductance_s"] = plan.best.value();
  tree["starting_transconductance_s"] =
      plan.starts
          ? Json::array({plan.starts->least.value(), plan.starts->most.value()})
          : Json(nullptr);
  tree["output_resistance_ohm"] = number(plan.input.output_resistance);
  tree["gain"] = {
      {"without_resistor", gain_with_json(plan.gain_without)},
      {"with_series_resistor", gain_with_json(plan.gain_with_start)},
      {"as_fitted", gain_with_json(plan.gain_as_fitted)}};
  tree["safety_factor"] = board ? number(board->safety_factor) : Json(nullptr);
  tree["ideal_safety_factor"] = number(plan.safety_factor);
  tree["measured_safety_factor"] = number(plan.measured_safety_factor);
  tree["drive"] = {{"without_resistor", drive_with_json(plan.without)},
                   {"with_series_resistor", drive_with_json(plan.with_start)},
                   {"as_fitted", drive_with_json(plan.with_fitted)}};
  tree["drive_limit_w"] = number(plan.input.drive_limit);
  tree["limit_current_pp_a"] = number(plan.limit_current_pp);
  tree["limit_swing_v"] = number(plan.limit_swing);
  tree["series_resistor_for_limit_ohm"] = number(plan.series_for_limit);
  tree["too_much_drive"] = excess_json(plan.excess);
  tree["start_up"] = start_json(plan.start_up);
  tree["c1_assumed"] = plan.c1_assumed;
  tree["legs_f"] =
      Json::array({plan.legs.input.value(), plan.legs.output.value()});
  tree["across_f"] = plan.legs.across.value();
  tree["maybe_overtone"] = plan.maybe_overtone;
  tree["missing"] = plan.missing;
  return whole_result(PlanKind::kDrive, tree, tool_version);
}

namespace {

Json slip_json(const PathSlip& slip) {
  const PathNeighbour& n = slip.neighbour;
  return {{"expression", n.expression},
          {"frequency_hz", n.frequency_hz.to_double()},
          {"ratio", n.ratio.to_string()},
          {"difference_ppm", slip.difference_ppm},
          {"frequency", n.frequency_hz.to_string()},
          {"description", n.description},
          {"like_intended", slip.like_intended}};
}

Json former_json(const std::optional<FormerPath>& former) {
  if (!former) return nullptr;
  Json keeps = Json::array();
  for (const PathSlip& slip : former->keeps) keeps.push_back(slip_json(slip));
  return {{"expression", clock_path_expression(former->path)},
          {"frequency_hz", former->path.frequency_hz.to_double()},
          {"unchanged_settings", slip_json(former->unchanged)},
          {"unchanged_source", slip_json(former->old_source)},
          {"keeps", keeps}};
}

}  // namespace

std::string plan_json(const PathPlan& plan, const std::string& tool_version) {
  Json neighbours = Json::array();
  for (const PathSlip& slip : plan.slips) {
    neighbours.push_back(slip_json(slip));
  }
  Json alike = Json::array();
  for (const PathCoincidence& c : plan.coincidences) {
    alike.push_back({{"neighbours", Json::array({c.first, c.second})},
                     {"apart_ppm", c.apart_ppm}});
  }
  const Json tree = {{"expression", clock_path_expression(plan.path)},
                     {"frequency_hz", plan.path.frequency_hz.to_double()},
                     {"frequency", plan.path.frequency_hz.to_string()},
                     {"source_hz", plan.path.source_hz.to_double()},
                     // The larger size, where the two differ.
                     {"tolerance_ppm", plan.widest_ppm},
                     {"tolerance_assumed", plan.source.is_assumed},
                     {"source_band_ppm",
                      Json::array({plan.source.low_ppm, plan.source.high_ppm})},
                     {"timebase_ppm", plan.source.timebase_ppm},
                     {"timebase_assumed", plan.source.timebase_is_assumed},
                     {"neighbours", neighbours},
                     {"coincidences", alike},
                     {"former", former_json(plan.former)}};
  return whole_result(PlanKind::kPath, tree, tool_version);
}

}  // namespace clockassay
