// SPDX-License-Identifier: GPL-3.0-or-later
#include "report/record_json.h"

#include <cmath>
#include <string>

#include "clockassay/base/printable.h"
#include "report/comparison_json.h"
#include "report/drift_json.h"
#include "report/facts.h"
#include "report/json_values.h"
#include "report/names.h"
#include "report/text_parts.h"
#include "report/trend_json.h"

namespace clockassay {
namespace {

using namespace json_values;

Json texts(const std::vector<std::string>& list) {
  Json out = Json::array();
  for (const std::string& s : list) out.push_back(text(s));
  return out;
}

Json warnings_json(const std::vector<Warning>& warnings) {
  return array_of(warnings, [](const Warning& w) {
    const WarningInfo& info = warning_info(w.code);
    return Json{{"code", info.name},
                {"message", text(w.message)},
                {"forbids_pass", info.forbids_pass},
                {"forbids_fail", info.forbids_fail}};
  });
}

Json frequency_json(const FrequencyResult& f) {
  return {{"value_hz", f.value.value()},
          {"standard_uncertainty_hz", f.standard_uncertainty.value()},
          {"expanded_uncertainty_hz", f.expanded_uncertainty.value()},
          {"coverage_factor", number(f.coverage_factor)},
          {"coverage", f.coverage}};
}

Json edges_json(const EdgeCounts& e) {
  return {{"rising", e.rising},
          {"falling", e.falling},
          {"missing", e.missing},
          {"extra", e.extra}};
}

Json jitter_json(const Jitter& j) {
  Json parts = Json::array();
  for (const JitterPart& p : j.parts) {
    parts.push_back({{"name", p.name}, {"rms_s", p.rms.value()}});
  }
  return {{"period_rms_s", number(j.period_rms)},
          {"period_peak_to_peak_s", number(j.period_peak_to_peak)},
          {"cycle_to_cycle_rms_s", number(j.cycle_to_cycle_rms)},
          {"cycle_to_cycle_peak_s", number(j.cycle_to_cycle_peak)},
          {"tie_rms_s", number(j.tie_rms)},
          {"tie_peak_to_peak_s", number(j.tie_peak_to_peak)},
          {"tie_nominal_rms_s", number(j.tie_nominal_rms)},
          {"tie_nominal_peak_to_peak_s", number(j.tie_nominal_peak_to_peak)},
          {"cycles", j.cycles},
          {"cycle_to_cycle_pairs", j.pairs},
          {"resolution_limited", j.resolution_limited},
          {"edge_rms_s", number(j.edge_rms)},
          {"edge_rms_expanded_uncertainty_s", number(j.edge_rms_uncertainty)},
          {"upper_limit_s", number(j.upper_limit)},
          {"parts", parts}};
}

Json spectral_json(const SpectralCheck& s) {
  return {{"outcome", spectral_outcome_name(s.outcome)},
          {"frequency_hz", number(s.frequency)},
          {"difference_ppm", number(s.difference)},
          {"limit_ppm", number(s.limit)},
          {"reason", text_or_null(s.reason)}};
}

Json noise_json(const std::optional<NoiseKind>& noise) {
  return noise ? Json(noise_name(*noise)) : Json(nullptr);
}

Json stability_json(const StabilityPoint& p) {
  return {{"tau_s", p.tau.value()},
          {"adev", number(p.adev)},
          {"adev_low", number(p.adev_low)},
          {"adev_high", number(p.adev_high)},
          {"mdev", number(p.mdev)},
          {"tdev_s", number(p.tdev)},
          {"hdev", number(p.hdev)},
          {"mtie_s", number(p.mtie)},
          {"n_period_rms_s", number(p.n_period_rms)},
          {"n", p.n},
          {"floor_adev", number(p.floor_adev)},
          {"sampling_limited", p.sampling_limited},
          {"against", p.against_reference ? "reference" : "timebase"},
          {"edf", number(p.edf)},
          {"noise", noise_json(p.noise)},
          {"noise_tau_s", number(p.noise_tau)},
          {"decimation", p.decimation}};
}

Json stability_reference_json(const std::optional<Stability>& s) {
  if (!s || !s->reference) return nullptr;
  return {{"from_tau_s", s->reference->from.value()},
          {"tie_rms_s", number(s->reference->tie_rms)}};
}

Json scale_json(const TieSpectrum::Scale& s) {
  return {{"cycles_per_value", s.cycles},
          {"segment_values", s.segment},
          {"segments", s.segments},
          {"segments_left_out", s.left_out},
          {"resolution_bandwidth_hz", s.resolution.value()},
          {"from_hz", s.from.value()},
          {"to_hz", s.to.value()}};
}

Json spur_json(const Spur& s) {
  return {
      {"frequency_hz", s.frequency.value()},
      {"frequency_standard_uncertainty_hz", s.frequency_uncertainty.value()},
      {"rms_s", s.rms.value()},
      {"peak_s", s.peak.value()},
      {"peak_standard_uncertainty_s", s.peak_uncertainty.value()},
      {"sideband_dbc", s.sideband_dbc},
      {"false_alarm_probability", s.false_alarm},
      {"may_be_hz", number(s.may_be)}};
}

Json sampling_image_json(const SamplingImage& s) {
  return {{"frequency_hz", s.frequency.value()},
          {"peak_s", s.peak.value()},
          {"harmonic", s.harmonic},
          {"text_harmonic", s.text_harmonic},
          {"sideline", s.sideline},
          {"of_spur_hz", number(s.of)},
          {"may_be_spur", s.may_be_spur}};
}

Json spread_json(const SpreadSpectrum& s) {
  return {{"rate_hz", s.rate.value()},
          {"rate_standard_uncertainty_hz", s.rate_uncertainty.value()},
          {"depth_ppm", s.depth.value()},
          {"depth_standard_uncertainty_ppm", s.depth_uncertainty.value()},
          {"profile", spread_profile_name(s.profile)},
          {"lowest_hz", s.lowest.value()},
          {"highest_hz", s.highest.value()}};
}

Json spectrum_json(const TieSpectrum& s) {
  return {{"window", "blackman_harris_4_term"},
          {"segment_cycles", s.fine.segment},
          {"segments", s.fine.segments},
          {"overlap", 0.5},
          {"resolution_bandwidth_hz", s.fine.resolution.value()},
          {"fine", scale_json(s.fine)},
          {"coarse", s.coarse ? scale_json(*s.coarse) : Json(nullptr)},
          {"lost_cycles", s.lost_cycles},
          {"floor_s2_per_hz", s.floor},
          {"floor_rms_s", s.floor_rms.value()},
          {"points",
           array_of(s.bands,
                    [](const SpectrumBand& b) {
                      return Json::array({b.frequency.value(), b.mean, b.most});
                    })},
          {"searched_from_hz", s.searched_from.value()},
          {"false_alarm_limit", s.most_false_alarms},
          {"spurs", array_of(s.spurs, spur_json)},
          {"sampling_known", s.sampling_known},
          {"unsorted_lines", array_of(s.unsorted, spur_json)},
          {"sampling_images", array_of(s.sampling_images, sampling_image_json)},
          {"spread", s.spread ? spread_json(*s.spread) : Json(nullptr)}};
}

Json half_period_json(const HalfPeriodJitter& j) {
  return {{"rms_s", j.rms.value()},
          {"peak_s", j.peak.value()},
          {"half_periods", j.count},
          {"edge_skew_s", number(j.edge_skew)}};
}

Json histogram_json(const PeriodHistogram& h) {
  return {{"first_s", h.first.value()},
          {"bin_s", h.bin.value()},
          {"counts", h.counts}};
}

Json duty_json(const DutyEstimate& d) {
  return {{"value", d.value},
          {"standard_uncertainty", d.standard_uncertainty},
          {"budget", array_of(d.lines, [](const DutyLine& line) {
             return Json{{"name", text(line.name)},
                         {"distribution", text(line.distribution)},
                         {"standard_uncertainty", line.standard_uncertainty}};
           })}};
}

Json wander_json(const CharacterWander& w) {
  return {{"tau_s", w.tau.value()},
          {"mdev", w.mdev},
          {"mdev_low", w.mdev_low},
          {"mdev_high", w.mdev_high},
          {"sampling_bound", w.sampling_bound},
          {"noise", noise_json(w.noise)},
          {"drift_ppm", number(w.drift)},
          {"drift_sampling_bound_ppm", w.drift_sampling_bound.value()}};
}

Json character_json(const OscillatorCharacter& c) {
  return {{"kind", character_name(c.kind)},
          {"evidence", c.evidence},
          {"wander", c.wander ? wander_json(*c.wander) : Json(nullptr)},
          {"rc_like_above", kRcLikeAbove},
          {"crystal_like_below", kCrystalLikeBelow}};
}

Json channel_character_json(const ChannelResult& c) {
  if (!c.character) return nullptr;
  Json out = character_json(*c.character);
  out["spread"] = c.spread ? spread_json(*c.spread) : Json(nullptr);
  return out;
}

Json stretch_json(const StretchRecord& s) {
  return {{"from_s", s.from.value()},
          {"to_s", s.to.value()},
          {"edges", edges_json(s.edges)},
          {"frequency",
           s.budget ? frequency_json(s.budget->frequency) : Json(nullptr)},
          {"begins_after", stretch_break_name(s.begins_after)}};
}

Json budget_line_json(const BudgetLine& line) {
  return {{"name", text(line.name)},
          {"kind", std::string(1, line.type)},
          {"distribution", text(line.distribution)},
          {"standard_uncertainty_ppm", line.standard_uncertainty.value()},
          {"dof", number(line.dof)},
          {"source", text(line.source)}};
}

Json relative_json(const ChannelResult& c) {
  if (!c.budget) return nullptr;
  Json out = frequency_json(c.budget->relative_to_timebase);
  out["bounds_hz"] =
      c.bound_low && c.bound_high
          ? Json::array({c.bound_low->value(), c.bound_high->value()})
          : Json(nullptr);
  return out;
}

Json channel_sampling_json(const ChannelResult& c) {
  Json phases = nullptr;
  if (c.few_phases) {
    phases = {{"samples", c.few_phases->samples},
              {"periods", c.few_phases->periods},
              {"steps", c.few_phases->steps},
              {"beat_hz", c.few_phases->beat.value()},
              {"resolution_ppm", c.few_phases->resolution.value()},
              {"better_rate_hz", c.few_phases->better_rate.value()}};
  }
  return {{"samples_per_period", number(c.samples_per_period)},
          {"looks_like_hz",
           array_of(c.looks_like, [](Hertz f) { return Json(f.value()); })},
          {"few_phases", phases}};
}

Json regular_repairs_json(const RegularRepairs& r) {
  return {{"kind", r.kind == RepairKind::kMissingCycle ? "missing" : "extra"},
          {"places", r.places},
          {"spacing_cycles", r.spacing},
          {"at_spacing", r.at_spacing}};
}

Json channel_json(const ChannelResult& c) {
  Json out = {{"name", raw(c.name)}};
  if (c.is_reference) out["is_reference"] = true;
  const Json rest = {
      {"edges", edges_json(c.edges)},
      {"as_captured_ppm", c.as_captured.value()},
      {"regular_repairs", c.regular_repairs
                              ? regular_repairs_json(*c.regular_repairs)
                              : Json(nullptr)},
      {"frequency",
       c.budget ? frequency_json(c.budget->frequency) : Json(nullptr)},
      {"relative_to_timebase", relative_json(c)},
      {"method", c.budget ? Json(method_name(c.method)) : Json(nullptr)},
      {"period_s", number(c.period)},
      {"analysed_s", c.analysed_duration.value()},
      {"duty", c.duty ? duty_json(*c.duty) : Json(nullptr)},
      {"jitter", jitter_json(c.jitter)},
      {"half_period_jitter",
       c.half_periods ? half_period_json(*c.half_periods) : Json(nullptr)},
      {"period_histogram",
       c.periods ? histogram_json(*c.periods) : Json(nullptr)},
      {"stability", c.stability ? array_of(c.stability->points, stability_json)
                                : Json::array()},
      {"stability_reference", stability_reference_json(c.stability)},
      {"spectral_check", spectral_json(c.spectral_check)},
      {"spectrum", c.spectrum ? spectrum_json(*c.spectrum) : Json(nullptr)},
      {"character", channel_character_json(c)},
      {"sampling", channel_sampling_json(c)},
      {"stretches", array_of(c.stretches, stretch_json)},
      {"settled_after_s", number(c.settled_after)},
      {"budget",
       c.budget ? array_of(c.budget->lines, budget_line_json) : Json::array()},
      {"warnings", warnings_json(c.warnings)}};
  out.update(rest);
  return out;
}

Json idle_json(const IdleChannel& c) {
  return {{"name", raw(c.name)}, {"edges", c.edges}};
}

Json timebase_json(const Timebase& t) {
  return {{"kind", timebase_kind_name(t.kind)},
          {"offset_ppm", t.offset.value()},
          {"tolerance_ppm", t.tolerance.value()}};
}

// Of a reference, each capture's own counts; with several there is no one rate.
Json record_timebase_json(const Record& r) {
  const auto common = common_timebase(r);
  if (common && common->kind != TimebaseKind::kReference) {
    return timebase_json(*common);
  }
  if (common && !r.comparison && r.captures.size() == 1 &&
      r.captures.front().reference) {
    return timebase_json(r.captures.front().reference->timebase);
  }
  return {
      {"kind", common ? Json(timebase_kind_name(common->kind)) : Json(nullptr)},
      {"offset_ppm", nullptr},
      {"tolerance_ppm", nullptr}};
}

Json reference_json(const ReferenceResult& r) {
  const std::optional<Rational>& stated = r.stated.tolerance_ppm;
  return {{"channel", raw(r.channel)},
          {"frequency_hz", r.stated.frequency_hz.to_double()},
          {"frequency_exact_hz", r.stated.frequency_hz.to_string()},
          {"tolerance_ppm", stated ? Json(stated->to_double()) : Json(nullptr)},
          {"timebase", timebase_json(r.timebase)}};
}

Json instrument_json(const Instrument& i) {
  return {{"timebase", i.timebase ? timebase_json(*i.timebase) : Json(nullptr)},
          {"timebase_stability_ppm", number(i.timebase_stability)},
          {"input_jitter_rms_s", number(i.input_jitter_rms)},
          {"edge_skew_s", number(i.edge_skew)}};
}

Json capture_sampling_json(const CaptureResult& c) {
  return {
      {"text_resolution_reason", text_or_null(c.text_resolution_reason)},
      {"rate_exact_hz",
       c.sample_rate_hz ? Json(c.sample_rate_hz->to_string()) : Json(nullptr)},
      {"interval_reason", text_or_null(c.sample_interval_reason)},
      {"window_reason", text_or_null(c.window_reason)}};
}

Json fact_json(const ReadingFact& f) {
  return {{"topic", raw(f.topic)},
          {"found", raw(f.found)},
          {"because", raw(f.because)}};
}

Json record_as_read_json(const RecordAsRead& r) {
  Json values = Json::array();
  for (const std::string& value : r.values) values.push_back(raw(value));
  return {{"line", r.line},
          {"text", raw(r.text)},
          {"time_s", raw(r.time_s)},
          {"values", values}};
}

Json understanding_json(const Understanding& u) {
  return {{"facts", array_of(u.facts, fact_json)},
          {"first_records", array_of(u.first_records, record_as_read_json)}};
}

Json refused_json(const RefusedCapture& c) {
  return {{"path", raw(c.path)},
          {"understanding", understanding_json(c.understanding)}};
}

Json tags_json(const std::vector<Tag>& tags) {
  Json out = Json::object();
  for (const Tag& tag : tags) out[raw(tag.key)] = raw(tag.value);
  return out;
}

Json capture_json(const CaptureResult& c) {
  Json out = {
      {"path", raw(c.path)}, {"format", text(c.format)}, {"bytes", c.bytes}};
  if (!c.tags.empty()) out["tags"] = tags_json(c.tags);
  if (c.compressed_bytes) {
    out["compression"] = text(c.compression);
    out["compressed_bytes"] = *c.compressed_bytes;
  }
  Json rest = {{"tick_s", c.tick.value()},
               {"sample_interval_s", number(c.sample_interval)},
               {"sample_interval_source", text(c.sample_interval_source)},
               {"text_resolution_s", c.text_resolution.value()},
               {"window_s", c.window.value()},
               {"sampling", capture_sampling_json(c)},
               {"duration_s", c.duration.value()},
               {"origin", text(c.origin)},
               {"channels", array_of(c.channels, channel_json)},
               {"idle_channels", array_of(c.idle_channels, idle_json)},
               {"warnings", warnings_json(c.warnings)}};
  out.update(rest);
  if (c.reference) out["reference"] = reference_json(*c.reference);
  if (c.understanding) {
    Understanding all = *c.understanding;
    all.facts = facts_of(c);
    out["understanding"] = understanding_json(all);
  }
  return out;
}

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

Json clock_pair_json(const ClockPair& p) {
  return {{"clock", raw(p.clock)},
          {"against", raw(p.against)},
          {"expected_ratio", text(p.expected.to_string())},
          {"measured_ratio", p.measured},
          {"difference_ppm", p.difference.value()},
          {"allowed_ppm", p.allowed.value()},
          {"off_by", p.exact ? text(p.exact->to_string()) : Json(nullptr)}};
}

Json source_group_json(const SourceGroup& g) {
  return {{"capture", raw(g.capture)},
          {"source", raw(g.source)},
          {"nominal_hz", g.nominal.value()},
          {"clocks", array_of(g.clocks, raw)},
          {"agree", g.agree},
          {"at_fault", array_of(g.odd, raw)},
          {"finding", text(g.finding)},
          {"pairs", array_of(g.pairs, clock_pair_json)}};
}

Json verdict_json(const Verdict& v) {
  Json out = judged_json(v);
  if (v.life) out["life"] = life_json(*v.life);
  if (v.load) out["load"] = load_json(*v.load);
  if (v.to_decide) out["to_decide"] = to_decide_json(*v.to_decide);
  return out;
}

Json error_json(const Error& e) {
  return {{"code", error_code_name(e.code)}, {"path", raw_or_null(e.path)},
          {"line", number(e.line)},          {"byte", number(e.byte)},
          {"message", text(e.message)},      {"hint", text_or_null(e.hint)}};
}

Json summary_json(const BatchSummary& s) {
  return {{"captures", s.captures},
          {"pass", s.pass},
          {"fail", s.fail},
          {"undecided", s.undecided},
          {"unusable", s.unusable}};
}

/// Where, as /key/index/key; put together only if there is one.
std::optional<std::string> first_not_finite(const Json& node) {
  if (node.is_number_float() && !std::isfinite(node.get<double>())) return "";
  if (const auto* object = node.get_ptr<const Json::object_t*>()) {
    for (const auto& [key, value] : *object) {
      if (const auto below = first_not_finite(value)) {
        return '/' + key + *below;
      }
    }
  }
  if (const auto* array = node.get_ptr<const Json::array_t*>()) {
    for (std::size_t i = 0; i < array->size(); ++i) {
      if (const auto below = first_not_finite((*array)[i])) {
        return '/' + std::to_string(i) + *below;
      }
    }
  }
  return std::nullopt;
}

}  // namespace

Result<nlohmann::ordered_json> record_json(const Record& r) {
  Json tree = {{"schema", "clockassay/1"},
               {"tool", {{"version", text(r.tool_version)}}},
               {"command", text(r.command)},
               {"title", text_or_null(r.title)},
               {"timebase", record_timebase_json(r)},
               {"captures", array_of(r.captures, capture_json)},
               {"sources", array_of(r.sources, source_group_json)},
               {"verdicts", array_of(r.verdicts, verdict_json)},
               {"errors", array_of(r.errors, error_json)}};
  if (r.command == "drift") {
    // Of several boards no one stands for all.
    tree["drift"] =
        r.drifts.size() == 1 ? drift_json(r.drifts.front()) : Json(nullptr);
    tree["drift_by_board"] = array_of(r.drifts, drift_json);
  }
  if (r.instrument) tree["instrument"] = instrument_json(*r.instrument);
  if (!r.refused.empty()) {
    tree["refused_captures"] = array_of(r.refused, refused_json);
  }
  if (r.command == "compare") {
    tree["comparisons"] =
        r.comparison ? comparisons_json(*r.comparison) : Json::array();
    tree["comparison"] =
        r.comparison ? comparison_json(*r.comparison) : Json(nullptr);
  }
  if (r.command == "trend") tree["trends"] = array_of(r.trends, trend_json);
  if (r.watched) {
    tree["watched"] = {{"name", raw(r.watched->name)},
                       {"bytes", r.watched->bytes},
                       {"modified_ns", r.watched->modified_ns},
                       {"question", text(r.watched->question)}};
  }
  if (r.summary) tree["summary"] = summary_json(*r.summary);
  if (const auto place = first_not_finite(tree)) {
    return failure(ErrorCode::kInternal,
                   "a result is not a finite number: " + *place,
                   "this is a bug; please report it with the capture");
  }
  return tree;
}

}  // namespace clockassay
