// SPDX-License-Identifier: GPL-3.0-or-later
#include <cmath>
#include <nlohmann/json.hpp>
#include <optional>

#include "clockassay/base/printable.h"
#include "clockassay/plan/cautions.h"
#include "clockassay/report/plan_report.h"

namespace clockassay {
namespace {

using Json = nlohmann::ordered_json;

// Where a figure could not be worked out it is not a number; unknown is null.
Json number(double value) {
  return std::isfinite(value) ? Json(value) : Json(nullptr);
}

template <class Kind>
Json number(const std::optional<Quantity<Kind>>& value) {
  return value ? number(value->value()) : Json(nullptr);
}

Json number(const std::optional<double>& value) {
  return value ? number(*value) : Json(nullptr);
}

Json number(const std::optional<Rational>& value) {
  return value ? number(value->to_double()) : Json(nullptr);
}

Json pair_json(const CapacitorPair& pair) {
  return Json::array({pair.a.value(), pair.b.value()});
}

std::string whole(PlanKind kind, Json plan, const std::string& tool_version) {
  plan["cautions"] = plan_cautions(kind);
  Json first = {{"kind", plan_kind_name(kind)}};
  first.update(plan);
  const Json tree = {{"schema", "clockassay/1"},
                     {"tool", {{"version", tool_version}}},
                     {"command", "plan"},
                     {"plan", first},
                     {"errors", Json::array()}};
  return tree.dump(2) + '\n';
}

Json effect_json(const LoadEffect& e) {
  return {{"capacitors_f", pair_json(e.capacitors)},
          {"load_f", e.load.value()},
          {"load_uncertainty_f", e.load_uncertainty.value()},
          {"pull_ppm", e.pull.value()},
          {"pull_uncertainty_ppm", e.pull_uncertainty.value()},
          {"pull_low_ppm", e.pull_low.value()},
          {"pull_high_ppm", e.pull_high.value()},
          {"gain_factor", e.gain_factor}};
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

Json start_json(const std::optional<StartUp>& start) {
  if (!start) return nullptr;
  return {{"growth_time_s", Json::array({start->growth_low.value(),
                                         start->growth_high.value()})},
          {"start_s",
           Json::array({start->shortest.value(), start->longest.value()})}};
}

Json zone_json(const DecisionZone& zone) {
  return Json::array({zone.low_ppm, zone.high_ppm});
}

Json zone_json(const std::optional<DecisionZone>& zone) {
  return zone ? zone_json(*zone) : Json(nullptr);
}

// One number where the limits are symmetric.
Json size_of(const std::optional<DecisionZone>& zone) {
  if (!zone || zone->low_ppm != -zone->high_ppm) return nullptr;
  return zone->high_ppm;
}

Json alias_json(const std::optional<AliasDanger>& alias) {
  if (!alias) return nullptr;
  return {{"clock", alias->who},
          {"frequency_hz", alias->frequency_hz.to_double()},
          {"seen_hz", alias->seen_hz.to_double()},
          {"always", alias->always},
          {"telling_rate_hz", number(alias->telling_rate_hz)}};
}

Json few_phases_json(const std::optional<FewPhases>& few) {
  if (!few) return nullptr;
  return {{"samples", few->samples},
          {"periods", few->periods},
          {"resolution_ppm", few->resolution.value()},
          {"even_rate_hz", few->better_rate.value()}};
}

Json timebase_json(const CapturePlan& plan) {
  const CapturePlanInput& in = plan.input;
  const bool reference = in.reference_tolerance.has_value();
  return {{"kind", timebase_kind_name(reference ? TimebaseKind::kReference
                                                : in.timebase.kind)},
          {"offset_ppm", in.timebase.offset.value()},
          {"tolerance_ppm", reference ? in.reference_tolerance->value()
                                      : in.timebase.tolerance.value()}};
}

void add_question(const CapturePlan& plan, Json& tree) {
  const double u = plan.expanded.value();
  tree["pass_band_ppm"] = zone_json(passing_zone(plan, u));
  tree["fail_band_ppm"] =
      plan.decidable ? zone_json(failing_beyond(plan, u)) : Json(nullptr);
  // Of the clock itself: what is measured may be off by U once more.
  tree["sure_pass_band_ppm"] = zone_json(passing_zone(plan, 2.0 * u));
  tree["sure_fail_band_ppm"] =
      plan.decidable ? zone_json(failing_beyond(plan, 2.0 * u)) : Json(nullptr);
  tree["limits_ppm"] = Json::array({plan.low_ppm, plan.high_ppm});
  tree["expected"] = plan.input.expect.frequency_hz.to_string();
  tree["expected_hz"] = plan.input.expect.frequency_hz.to_double();
  tree["coverage"] = plan.input.coverage;
  tree["timebase"] = timebase_json(plan);
}

void add_capture(const CapturePlan& plan, Json& tree) {
  tree["sample_rate_hz"] = plan.input.sample_rate_hz.to_double();
  tree["duration_given"] = plan.input.duration.has_value();
  tree["shortest_duration_s"] = number(plan.shortest);
  tree["capture_uncertainty_ppm"] =
      plan.width.cycles > 0 ? number(plan.capture_U.value()) : Json(nullptr);
  tree["timebase_uncertainty_ppm"] = plan.timebase_U.value();
  tree["sampling_ppm"] = number(plan.width.sampling.value());
  tree["jitter_ppm"] = number(plan.width.jitter.value());
  tree["fewest_phases"] = plan.width.fewest_phases;
  tree["jitter_that_counts_s"] = number(plan.width.jitter_that_counts.value());
  tree["samples_per_period"] = plan.samples_per_period;
  tree["duty_resolution"] = {{"one_period", plan.duty_by_one},
                             {"mean_at_worst", plan.duty_by_mean}};
  tree["locked_to_sampling"] = few_phases_json(plan.few_phases);
  tree["better_sample_rate_hz"] = number(plan.better_rate_hz);
  tree["better_sampling_ppm"] = number(plan.better_half_width);
  tree["alias"] = alias_json(plan.alias);
  tree["seen_hz"] = number(plan.seen_hz);
  tree["needed_sample_rate_hz"] = number(plan.needed_rate_hz);
  tree["to_decide"] = {{"timebase_ppm", number(plan.cures.timebase)},
                       {"calibration_ppm", number(plan.cures.calibration)},
                       {"reference_ppm", number(plan.cures.reference)}};
  const CaptureSize& size = plan.size;
  tree["level_changes"] = size.level_changes;
  tree["file_bytes"] = {{"csv_changes", size.csv_changes_bytes},
                        {"csv_samples", size.csv_samples_bytes},
                        {"vcd", size.vcd_bytes}};
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
  return whole(PlanKind::kLoad, tree, tool_version);
}

std::string plan_json(const DrivePlan& plan, const std::string& tool_version) {
  const std::optional<DriveWith>& now =
      plan.with_fitted ? plan.with_fitted : plan.without;
  Json tree = {{"critical_transconductance_s", plan.critical.value()},
               {"margin", number(plan.margin)},
               {"drive_w", now ? Json(now->power.value()) : Json(nullptr)},
               {"series_resistor_ohm", plan.series_start.value()}};
  tree["usual_margin"] = kUsualMargin;
  tree["usual_safety_factor"] =
      Json::array({kUsualSafetyLow, kUsualSafetyHigh});
  tree["load_resonance_resistance_ohm"] = plan.rl.value();
  tree["negative_resistance_ohm"] = number(plan.negative);
  tree["most_negative_resistance_ohm"] = plan.most_negative.value();
  tree["safety_factor"] = number(plan.safety_factor);
  tree["measured_safety_factor"] = number(plan.measured_safety_factor);
  tree["drive"] = {{"without_resistor", drive_with_json(plan.without)},
                   {"with_series_resistor", drive_with_json(plan.with_start)},
                   {"as_fitted", drive_with_json(plan.with_fitted)}};
  tree["drive_limit_w"] = number(plan.input.drive_limit);
  tree["limit_current_pp_a"] = number(plan.limit_current_pp);
  tree["limit_swing_v"] = number(plan.limit_swing);
  tree["series_resistor_for_limit_ohm"] = number(plan.series_for_limit);
  tree["start_up"] = start_json(plan.start_up);
  tree["c1_assumed"] = plan.c1_assumed;
  tree["legs_f"] =
      Json::array({plan.legs.input.value(), plan.legs.output.value()});
  tree["across_f"] = plan.legs.across.value();
  tree["maybe_overtone"] = plan.maybe_overtone;
  tree["missing"] = plan.missing;
  return whole(PlanKind::kDrive, tree, tool_version);
}

std::string plan_json(const PathPlan& plan, const std::string& tool_version) {
  Json neighbours = Json::array();
  for (const PathSlip& slip : plan.slips) {
    const PathNeighbour& n = slip.neighbour;
    neighbours.push_back({{"expression", n.expression},
                          {"frequency_hz", n.frequency_hz.to_double()},
                          {"ratio", n.ratio.to_string()},
                          {"difference_ppm", slip.difference_ppm},
                          {"frequency", n.frequency_hz.to_string()},
                          {"description", n.description},
                          {"like_intended", slip.like_intended}});
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
                     {"tolerance_ppm", plan.tolerance_ppm},
                     {"neighbours", neighbours},
                     {"coincidences", alike}};
  return whole(PlanKind::kPath, tree, tool_version);
}

std::string plan_json(const CapturePlan& plan,
                      const std::string& tool_version) {
  const double u = plan.expanded.value();
  const bool known = plan.expanded > Ppm(0.0);
  Json tree = {
      {"decidable", plan.decidable},
      {"passes_within_ppm", size_of(passing_zone(plan, u))},
      {"fails_beyond_ppm",
       plan.decidable ? size_of(failing_beyond(plan, u)) : Json(nullptr)},
      {"duration_s", plan.duration.value()},
      {"samples", plan.size.samples},
      {"expanded_uncertainty_ppm", known ? number(u) : Json(nullptr)},
      {"limited_by", capture_limit_name(plan.limited_by)}};
  add_question(plan, tree);
  add_capture(plan, tree);
  return whole(PlanKind::kCapture, tree, tool_version);
}

}  // namespace clockassay
