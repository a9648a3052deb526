// SPDX-License-Identifier: GPL-3.0-or-later
#include "report/channel_json.h"

#include "report/json_values.h"
#include "report/names.h"
#include "report/warnings_json.h"

namespace clockassay {
namespace {

using namespace json_values;

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

}  // namespace

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

}  // namespace clockassay
