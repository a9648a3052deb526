// SPDX-License-Identifier: GPL-3.0-or-later
#include "clockassay/report/plan_report.h"
#include "report/plan_json_parts.h"

namespace clockassay {
namespace {

Json zone_json(const std::optional<DecisionZone>& zone) {
  if (!zone) return nullptr;
  return Json::array({zone->low_ppm, zone->high_ppm});
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
  const DecisionZones& zones = plan.zones;
  tree["pass_band_ppm"] = zone_json(zones.passes);
  tree["fail_band_ppm"] = zone_json(zones.fails);
  // Of the clock itself: what is measured may be off by U once more.
  tree["sure_pass_band_ppm"] = zone_json(zones.sure_pass);
  tree["sure_fail_band_ppm"] = zone_json(zones.sure_fail);
  tree["likely_pass_band_ppm"] = zone_json(zones.likely_pass);
  tree["limits_ppm"] = Json::array({plan.low_ppm, plan.high_ppm});
  tree["expected"] = plan.input.expect.frequency_hz.to_string();
  tree["expected_hz"] = plan.input.expect.frequency_hz.to_double();
  tree["coverage"] = plan.input.coverage;
  tree["timebase"] = timebase_json(plan);
}

void add_lengths(const CapturePlan& plan, Json& tree) {
  const bool may_fail = plan.zones.sure_fail.has_value();
  tree["sure_fail_from_hz"] =
      may_fail ? number(plan.zones.fails_from.value()) : Json(nullptr);
  tree["sure_fail_to_hz"] =
      may_fail ? number(plan.zones.fails_to.value()) : Json(nullptr);
  tree["sample_rate_hz"] = plan.input.sample_rate_hz.to_double();
  tree["duration_given"] = plan.input.duration.has_value();
  tree["needed_duration_s"] =
      plan.needed ? number(plan.needed->duration.value()) : Json(nullptr);
  tree["needed_passes"] =
      plan.needed ? number(plan.needed->passes) : Json(nullptr);
  tree["needed_passes_at_best"] =
      plan.needed ? number(plan.needed->at_best) : Json(nullptr);
  tree["needed_jitter_below_s"] =
      plan.needed ? number(plan.needed->jitter_below) : Json(nullptr);
  tree["feasible"] = plan.feasible;
  tree["shortest_duration_s"] = number(plan.shortest);
}

void add_width(const CapturePlan& plan, Json& tree) {
  tree["capture_uncertainty_ppm"] =
      plan.width.cycles > 0 ? number(plan.capture_U.value()) : Json(nullptr);
  tree["expanded_uncertainty_at_most_ppm"] =
      plan.at_most > Ppm(0.0) ? number(plan.at_most.value()) : Json(nullptr);
  tree["timebase_uncertainty_ppm"] = plan.timebase_U.value();
  tree["sampling_ppm"] = number(plan.width.sampling.value());
  tree["jitter_ppm"] = number(plan.width.jitter.value());
  tree["enough_duration_s"] = number(plan.enough);
  tree["fewest_phases"] = plan.width.fewest_phases;
  tree["counted_phases"] = plan.width.counted_phases;
  tree["jitter_that_counts_s"] = number(plan.width.jitter_that_counts.value());
  tree["jitter_s"] = number(plan.input.jitter);
  tree["most_jitter_s"] = number(plan.most_jitter.value());
  tree["uneven_share"] = plan.uneven;
  tree["samples_per_period"] = plan.samples_per_period;
  tree["fewest_samples_per_period"] = plan.pulses.samples_per_period;
  tree["shorter_half_samples"] = plan.pulses.shorter_half;
  const DutyRange duty = plan.input.duty.value_or(DutyRange{});
  tree["duty"] = {{"low", duty.low},
                  {"high", duty.high},
                  {"assumed", !plan.input.duty.has_value()}};
  tree["duty_resolution"] = {{"one_period", plan.duty_by_one},
                             {"mean_at_worst", plan.duty_by_mean}};
  tree["locked_to_sampling"] = few_phases_json(plan.few_phases);
}

void add_rates(const CapturePlan& plan, Json& tree) {
  tree["better_sample_rate_hz"] = number(plan.better_rate_hz);
  tree["better_capture_ppm"] = number(plan.better_U);
  // Scripts know it by this name too.
  tree["better_sampling_ppm"] = number(plan.better_U);
  tree["even_sample_rate_hz"] = number(plan.even_rate);
  tree["fastest_reference_hz"] = number(plan.fastest_reference);
  tree["slowest_reference_hz"] = number(plan.slowest_reference);
  tree["reference_hz"] = number(plan.input.reference_hz);
  tree["reference_needs_s"] = number(plan.reference_needs);
  tree["reference_fails"] = plan.reference_fails;
  tree["alias"] = alias_json(plan.alias);
  tree["seen_hz"] = number(plan.seen_hz);
  tree["needed_sample_rate_hz"] = number(plan.needed_rate_hz);
  tree["needed_or_faster"] = plan.needed_or_faster;
  tree["needed_divider"] =
      plan.needed_divider ? Json(*plan.needed_divider) : Json(nullptr);
}

void add_cures(const CapturePlan& plan, Json& tree) {
  const CaptureCures& cures = plan.cures;
  // Beside a reference that is what has to be better known.
  const bool beside = plan.input.reference_tolerance.has_value();
  tree["to_decide"] = {
      {"timebase_ppm", beside ? Json(nullptr) : number(cures.timebase)},
      {"calibration_ppm", number(cures.calibration)},
      {"reference_ppm", number(beside ? cures.timebase : cures.reference)},
      {"duration_s", number(cures.duration)},
      {"sample_rate_hz", number(cures.sample_rate)},
      {"capture_alone", cures.capture_alone},
      {"less_jitter", cures.less_jitter}};
  tree["also_too_large"] = plan.also_too_large;
}

void add_capture(const CapturePlan& plan, Json& tree) {
  add_lengths(plan, tree);
  add_width(plan, tree);
  add_rates(plan, tree);
  add_cures(plan, tree);
  const CaptureSize& size = plan.size;
  tree["level_changes"] = size.level_changes;
  tree["file_bytes"] = {{"csv_changes", size.csv_changes_bytes},
                        {"csv_samples", size.csv_samples_bytes},
                        {"vcd", size.vcd_bytes}};
}

}  // namespace

std::string plan_json(const CapturePlan& plan,
                      const std::string& tool_version) {
  const double u = plan.expanded.value();
  const bool known = plan.expanded > Ppm(0.0);
  Json tree = {{"decidable", plan.decidable},
               {"passes_within_ppm", size_of(plan.zones.passes)},
               {"fails_beyond_ppm", size_of(plan.zones.fails)},
               {"duration_s", plan.duration.value()},
               {"samples", plan.size.samples},
               {"expanded_uncertainty_ppm", known ? number(u) : Json(nullptr)},
               {"limited_by", capture_limit_name(plan.limited_by)}};
  add_question(plan, tree);
  add_capture(plan, tree);
  return whole_result(PlanKind::kCapture, tree, tool_version);
}

}  // namespace clockassay
