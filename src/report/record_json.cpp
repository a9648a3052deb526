// SPDX-License-Identifier: GPL-3.0-or-later
#include "report/record_json.h"

#include <cmath>
#include <string>

#include "clockassay/base/printable.h"
#include "report/channel_json.h"
#include "report/comparison_json.h"
#include "report/drift_json.h"
#include "report/facts.h"
#include "report/json_values.h"
#include "report/text_parts.h"
#include "report/trend_json.h"
#include "report/verdict_json.h"
#include "report/warnings_json.h"

namespace clockassay {
namespace {

using namespace json_values;

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
