// SPDX-License-Identifier: GPL-3.0-or-later
#include "clockassay/analysis/stored_result.h"

#include <cmath>
#include <nlohmann/json.hpp>
#include <numbers>
#include <utility>

#include "verdict/json_document.h"
#include "verdict/json_fields.h"

namespace clockassay {
namespace {

using nlohmann::json;

constexpr const char* kRemake =
    "make it again: clockassay measure --json FILE CAPTURE";

/// A kBadData about a place of the document, as an exception is none: the
/// readers below give nullopt and leave it here.
class Reader {
 public:
  const std::optional<Error>& error() const { return error_; }

  void refuse(const std::string& pointer, const std::string& why,
              std::string hint = kRemake) {
    if (error_) return;
    error_ = Error{ErrorCode::kBadData, place(pointer) + ": " + why,
                   std::move(hint)};
  }

  /// The member of an object; null where it is lacking.
  const json& member(const json& object, const std::string& pointer,
                     const char* key) {
    static const json kNull;
    if (!object.is_object()) {
      refuse(pointer, found(object) + ", expected an object");
      return kNull;
    }
    const auto at = object.find(key);
    if (at != object.end()) return *at;
    refuse(pointer, std::string("found no \"") + key + "\", expected it");
    return kNull;
  }

  double number(const json& object, const std::string& pointer,
                const char* key) {
    const json& value = member(object, pointer, key);
    if (!value.is_number()) {
      refuse(deeper(pointer, key), found(value) + ", expected a number");
      return 0.0;
    }
    return value.get<double>();
  }

  double positive(const json& object, const std::string& pointer,
                  const char* key) {
    const double value = number(object, pointer, key);
    if (!(value > 0.0)) {
      refuse(deeper(pointer, key), "expected a number above zero");
      return 1.0;
    }
    return value;
  }

  std::string text(const json& object, const std::string& pointer,
                   const char* key) {
    const json& value = member(object, pointer, key);
    if (!value.is_string()) {
      refuse(deeper(pointer, key), found(value) + ", expected a text");
      return {};
    }
    return value.get<std::string>();
  }

  bool flag(const json& object, const std::string& pointer, const char* key) {
    const json& value = member(object, pointer, key);
    if (!value.is_boolean()) {
      refuse(deeper(pointer, key), found(value) + ", expected true or false");
      return true;
    }
    return value.get<bool>();
  }

  const json& list(const json& object, const std::string& pointer,
                   const char* key) {
    static const json kEmpty = json::array();
    const json& value = member(object, pointer, key);
    if (value.is_array()) return value;
    refuse(deeper(pointer, key), found(value) + ", expected a list");
    return kEmpty;
  }

 private:
  std::optional<Error> error_;
};

void read_warnings(Reader& reader, const json& object,
                   const std::string& pointer,
                   std::vector<PointWarning>& warnings) {
  const json& list = reader.list(object, pointer, "warnings");
  for (std::size_t i = 0; i < list.size(); ++i) {
    const std::string here = deeper(deeper(pointer, "warnings"), i);
    warnings.push_back({reader.text(list[i], here, "code"),
                        reader.text(list[i], here, "message"),
                        reader.flag(list[i], here, "forbids_pass"),
                        reader.flag(list[i], here, "forbids_fail")});
  }
}

TimebaseKind timebase_kind(Reader& reader, const std::string& name,
                           const std::string& pointer) {
  if (const auto kind = timebase_kind_of(name)) return *kind;
  reader.refuse(deeper(pointer, "kind"),
                "found \"" + name + "\", expected a kind of timebase");
  return TimebaseKind::kAssumed;
}

Timebase read_timebase(Reader& reader, const json& object,
                       const std::string& pointer) {
  const json& timebase = reader.member(object, pointer, "timebase");
  const std::string here = deeper(pointer, "timebase");
  Timebase read;
  read.kind = timebase_kind(reader, reader.text(timebase, here, "kind"), here);
  // Null where several captures had a reference each, of which one is read.
  read.offset = Ppm(reader.number(timebase, here, "offset_ppm"));
  read.tolerance = Ppm(reader.number(timebase, here, "tolerance_ppm"));
  if (read.tolerance.value() < 0.0) {
    reader.refuse(deeper(here, "tolerance_ppm"), "expected 0 or more");
  }
  return read;
}

/// Normal shares add in squares, rectangular ones by their half-widths.
void read_budget(Reader& reader, const json& channel,
                 const std::string& pointer, StoredClock& clock) {
  double squares = 0.0;
  double half_width = 0.0;
  const json& lines = reader.list(channel, pointer, "budget");
  for (std::size_t i = 0; i < lines.size(); ++i) {
    const std::string here = deeper(deeper(pointer, "budget"), i);
    const double u = reader.number(lines[i], here, "standard_uncertainty_ppm");
    if (u < 0.0) reader.refuse(here, "expected an uncertainty of 0 or more");
    const std::string distribution =
        reader.text(lines[i], here, "distribution");
    if (distribution == "normal") {
      squares += u * u;
    } else if (distribution == "rectangular") {
      half_width += u * std::numbers::sqrt3;
    } else {
      reader.refuse(
          deeper(here, "distribution"),
          "found \"" + distribution + "\", expected normal or rectangular");
    }
  }
  clock.u = Ppm(std::sqrt(squares));
  clock.half_width = Ppm(half_width);
  if (!(squares > 0.0)) {
    reader.refuse(deeper(pointer, "budget"),
                  "found no uncertainty of the capture, expected one");
  }
}

// Older results may lack a figure; null says the same.
std::optional<double> figure_at(const json& object, const char* group,
                                const char* key) {
  const auto at = object.find(group);
  if (at == object.end() || !at->is_object()) return std::nullopt;
  const auto value = at->find(key);
  if (value == at->end() || !value->is_number()) return std::nullopt;
  return value->get<double>();
}

void read_jitter(const json& channel, StoredClock& clock) {
  const auto jitter = channel.find("jitter");
  if (jitter == channel.end() || !jitter->is_object()) return;
  // Where nothing says that it is not, sampling may have made it.
  const auto limited = jitter->find("resolution_limited");
  if (limited != jitter->end() && *limited == false) {
    if (const auto rms = figure_at(channel, "jitter", "period_rms_s")) {
      clock.period_jitter = Seconds(*rms);
    }
  }
  const auto edge = figure_at(channel, "jitter", "edge_rms_s");
  const auto expanded =
      figure_at(channel, "jitter", "edge_rms_expanded_uncertainty_s");
  // Expanded is twice the standard uncertainty there.
  if (edge && expanded) clock.edge_jitter = Figure{*edge, 0.5 * *expanded};
}

void read_duty(const json& channel, StoredClock& clock) {
  const auto value = figure_at(channel, "duty", "value");
  const auto u = figure_at(channel, "duty", "standard_uncertainty");
  if (value && u) clock.duty = Figure{*value, *u};
}

StoredClock read_clock(Reader& reader, const json& channel,
                       const std::string& pointer, const Timebase& timebase) {
  StoredClock clock;
  clock.channel = reader.text(channel, pointer, "name");
  clock.timebase = timebase;
  clock.frequency =
      Hertz(reader.positive(reader.member(channel, pointer, "frequency"),
                            deeper(pointer, "frequency"), "value_hz"));
  clock.indicated = Hertz(
      reader.positive(reader.member(channel, pointer, "relative_to_timebase"),
                      deeper(pointer, "relative_to_timebase"), "value_hz"));
  read_budget(reader, channel, pointer, clock);
  read_warnings(reader, channel, pointer, clock.warnings);
  read_jitter(channel, clock);
  read_duty(channel, clock);
  return clock;
}

void read_tags(const json& capture, StoredResult& result) {
  const auto tags = capture.find("tags");
  if (tags == capture.end() || !tags->is_object()) return;
  for (const auto& [key, value] : tags->items()) {
    if (value.is_string()) result.tags.push_back({key, value});
  }
}

bool is_reference(const json& channel) {
  const auto flag = channel.find("is_reference");
  return flag != channel.end() && *flag == true;
}

void read_channels(Reader& reader, const json& capture,
                   const std::string& pointer, const Timebase& timebase,
                   StoredResult& result) {
  std::vector<PointWarning> shared;
  read_warnings(reader, capture, pointer, shared);
  const json& channels = reader.list(capture, pointer, "channels");
  for (std::size_t i = 0; i < channels.size(); ++i) {
    const std::string here = deeper(deeper(pointer, "channels"), i);
    if (!channels[i].is_object()) {
      reader.refuse(here, found(channels[i]) + ", expected an object");
      return;
    }
    if (is_reference(channels[i])) continue;
    if (reader.member(channels[i], here, "frequency").is_null()) {
      result.idle.push_back(reader.text(channels[i], here, "name"));
      continue;
    }
    StoredClock clock = read_clock(reader, channels[i], here, timebase);
    clock.warnings.insert(clock.warnings.end(), shared.begin(), shared.end());
    result.clocks.push_back(std::move(clock));
  }
  const json& idle = reader.list(capture, pointer, "idle_channels");
  for (std::size_t i = 0; i < idle.size(); ++i) {
    const std::string here = deeper(deeper(pointer, "idle_channels"), i);
    result.idle.push_back(reader.text(idle[i], here, "name"));
  }
}

/// What its own errors say, where there is no capture.
std::string first_message(const json& tree) {
  const auto errors = tree.find("errors");
  if (errors == tree.end() || !errors->is_array() || errors->empty()) return "";
  const json& first = errors->front();
  if (!first.is_object() || !first.contains("message")) return "";
  const json& message = first["message"];
  return message.is_string()
             ? ", and says itself: " + message.get<std::string>()
             : "";
}

void check_kind(Reader& reader, const json& tree) {
  const std::string schema = reader.text(tree, "", "schema");
  if (schema != "clockassay/1") {
    reader.refuse("/schema", "found \"" + schema +
                                 "\", expected \"clockassay/1\", a result of "
                                 "measure or verify");
  }
  const std::string command = reader.text(tree, "", "command");
  if (command != "measure" && command != "verify") {
    reader.refuse("/command", "found \"" + command +
                                  "\", expected a result of measure or verify");
  }
}

}  // namespace

bool looks_like_json(std::string_view beginning) {
  if (beginning.starts_with("\xEF\xBB\xBF")) beginning.remove_prefix(3);
  const std::size_t first = beginning.find_first_not_of(" \t\r\n");
  return first != std::string_view::npos && beginning[first] == '{';
}

Result<StoredResult> parse_stored_result(std::string_view text) {
  const auto document = read_json_document(text);
  if (!document) {
    Error error = document.error();
    error.code = ErrorCode::kBadData;
    if (error.hint.empty()) error.hint = kRemake;
    return tl::unexpected<Error>(std::move(error));
  }
  const json& tree = *document;
  Reader reader;
  check_kind(reader, tree);
  StoredResult result;
  if (reader.error()) return tl::unexpected<Error>(*reader.error());
  const json& captures = reader.list(tree, "", "captures");
  if (captures.size() != 1) {
    reader.refuse("/captures",
                  "found " + std::to_string(captures.size()) +
                      " captures, expected one" + first_message(tree),
                  "store the result of each capture by itself");
  } else {
    const json& capture = captures[0];
    const std::string here = "/captures/0";
    result.capture = reader.text(capture, here, "path");
    read_tags(capture, result);
    const auto reference = capture.find("reference");
    const Timebase timebase =
        reference != capture.end()
            ? read_timebase(reader, *reference, deeper(here, "reference"))
            : read_timebase(reader, tree, "");
    read_channels(reader, capture, here, timebase, result);
  }
  if (reader.error()) return tl::unexpected<Error>(*reader.error());
  return result;
}

ClockSeen seen_of(const StoredClock& clock) {
  ClockSeen seen;
  seen.channel = clock.channel;
  seen.frequency = clock.frequency;
  seen.indicated = clock.indicated;
  seen.by_reference = clock.timebase.kind == TimebaseKind::kReference;
  seen.u = clock.u;
  seen.half_width = clock.half_width;
  seen.period_jitter = clock.period_jitter;
  seen.edge_jitter = clock.edge_jitter;
  seen.duty = clock.duty;
  for (const PointWarning& w : clock.warnings) {
    if (w.forbids_pass && seen.doubt.empty()) seen.doubt = w.message;
  }
  return seen;
}

}  // namespace clockassay
