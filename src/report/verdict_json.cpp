// SPDX-License-Identifier: GPL-3.0-or-later
#include "report/verdict_json.h"

#include "report/json_values.h"
#include "report/warnings_json.h"

namespace clockassay {
namespace {

using namespace json_values;

Json check_json(const Check& c) {
  return {{"check", text(c.check)},
          {"subject", text_or_null(c.subject)},
          {"decision", decision_name(c.decision)},
          {"value", number(c.value)},
          {"expanded_uncertainty", number(c.expanded_uncertainty)},
          {"low", number(c.low)},
          {"high", number(c.high)},
          {"unit", text(c.unit)},
          {"source", text(c.source)},
          {"probability_of_conformity", number(c.probability_of_conformity)},
          {"specific_risk", number(c.specific_risk)},
          {"advisory", c.advisory},
          {"requirement", text_or_null(c.requirement_id)},
          {"counts_pulses", c.counts_pulses}};
}

Json cause_json(const Cause& c) {
  return {{"code", cause_code_name(c.code)},
          {"cause", text(c.cause)},
          {"ratio", text_or_null(c.ratio)},
          {"expected_hz", number(c.expected)},
          {"residual_ppm", number(c.residual)},
          {"evidence", texts(c.evidence)},
          {"if_true", text_or_null(c.if_true)},
          {"advice", text_or_null(c.advice)},
          {"settled_by", text_or_null(c.settled_by)},
          {"rank", c.rank}};
}

Json pair_json(const CapacitorPair& pair) {
  return Json::array({pair.a.value(), pair.b.value()});
}

Json capacitor_fit_json(const CapacitorFit& f) {
  return {{"capacitors_f", pair_json(f.capacitors)},
          {"predicted_residual_ppm", f.predicted.value()},
          {"predicted_low_ppm", f.low.value()},
          {"predicted_high_ppm", f.high.value()},
          {"sure_to_help", f.is_sure_to_help}};
}

Json stray_json(const ImpliedStray& s) {
  return {{"between", s.per_pin ? "each_pin_and_ground" : "the_pins"},
          {"value_f", number(s.best)},
          {"low_f", s.low.value()},
          {"high_f", number(s.high)},
          {"stated_f", number(s.stated)},
          {"agrees_with_stated",
           s.stated ? Json(s.agrees_with_stated) : Json(nullptr)}};
}

Json load_json(const LoadInference& l) {
  const bool is_seen = l.outcome != LoadOutcome::kNeverTheLoad;
  return {
      {"outcome", load_outcome_name(l.outcome)},
      {"nominal_f", l.nominal.value()},
      {"seen_f", number(l.seen)},
      {"seen_low_f", is_seen ? Json(l.seen_low.value()) : Json(nullptr)},
      {"seen_high_f", number(l.seen_high)},
      {"slowest_ppm", l.slowest.value()},
      {"fastest_ppm", l.fastest.value()},
      {"fitted_f", l.fitted ? pair_json(*l.fitted) : Json(nullptr)},
      {"stray", l.stray ? stray_json(*l.stray) : Json(nullptr)},
      {"fit", l.fit ? capacitor_fit_json(*l.fit) : Json(nullptr)},
      {"closest", l.closest ? capacitor_fit_json(*l.closest) : Json(nullptr)},
      {"capacitor_tolerance", l.capacitor_tolerance},
      {"assumed", texts(l.assumed)}};
}

Json to_decide_json(const ToDecide& t) {
  return {{"check", text(t.check)},
          {"can_pass", t.can_pass},
          {"margin_ppm", t.margin.value()},
          {"aim_ppm", t.aim.value()},
          {"on_limit", t.on_limit},
          {"timebase_tolerance_ppm", number(t.timebase)},
          {"calibration_tolerance_ppm", number(t.calibration)},
          {"reference_tolerance_ppm", number(t.reference)},
          {"duration_s", number(t.duration)},
          {"sample_rate_hz", number(t.sample_rate)},
          {"capture_alone", t.capture_alone}};
}

Json judged_json(const Verdict& v) {
  return {
      {"clock", raw(v.clock)},
      {"capture", raw(v.capture)},
      {"channel", v.channel ? raw(*v.channel) : Json(nullptr)},
      {"decision", decision_name(v.decision)},
      {"expected", text_or_null(v.expected)},
      {"expected_hz",
       v.expected.empty() ? Json(nullptr) : Json(v.expected_frequency.value())},
      {"error_ppm", number(v.error)},
      {"expanded_uncertainty_ppm", number(v.expanded_uncertainty)},
      {"coverage", v.coverage},
      {"implied_source_hz", number(v.implied_source)},
      {"nominal_source_hz",
       v.expected.empty() ? Json(nullptr) : Json(v.nominal_source.value())},
      {"probability_of_conformity", number(v.probability_of_conformity)},
      {"checks", array_of(v.checks, check_json)},
      {"causes", array_of(v.causes, cause_json)},
      {"reasons", texts(v.reasons)},
      {"advice", texts(v.advice)},
      {"warnings", warnings_json(v.warnings)}};
}

Json band_json(const PpmBand& band) {
  return {{"low_ppm", band.low.value()}, {"high_ppm", band.high.value()}};
}

Json life_share_json(const LifeShare& s) {
  return {{"name", text(s.name)},
          {"low_ppm", s.band ? Json(s.band->low.value()) : Json(nullptr)},
          {"high_ppm", s.band ? Json(s.band->high.value()) : Json(nullptr)},
          {"counted", s.counted},
          {"why", text(s.why)}};
}

Json life_json(const LifeStack& l) {
  return {{"error_ppm", l.error.value()},
          {"expanded_uncertainty_ppm", l.expanded_uncertainty.value()},
          {"shares", array_of(l.shares, life_share_json)},
          {"combine", l.combine == CombineRule::kSum ? "sum" : "rss"},
          {"moves", band_json(l.moves)},
          {"altogether", band_json(l.altogether)}};
}

}  // namespace

Json verdict_json(const Verdict& v) {
  Json out = judged_json(v);
  if (v.life) out["life"] = life_json(*v.life);
  if (v.load) out["load"] = load_json(*v.load);
  if (v.to_decide) out["to_decide"] = to_decide_json(*v.to_decide);
  return out;
}

}  // namespace clockassay
