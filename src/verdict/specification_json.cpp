// SPDX-License-Identifier: GPL-3.0-or-later
#include <cstddef>
#include <nlohmann/json.hpp>
#include <optional>
#include <string>
#include <string_view>
#include <utility>
#include <vector>

#include "clockassay/base/number_text.h"
#include "clockassay/verdict/specification.h"
#include "verdict/json_document.h"
#include "verdict/json_fields.h"
#include "verdict/load_reader.h"
#include "verdict/requirement_reader.h"

namespace clockassay {
namespace {

using nlohmann::json;

// Of a quantity in a message.
constexpr int kDigits = 9;

constexpr std::string_view kTopKeys[] = {"title", "captured_at", "clocks",
                                         "suspects"};
constexpr std::string_view kClockKeys[] = {
    "name",   "channel",       "expect",
    "source", "tolerance",     "requirements",
    "duty",   "settle_within", "period_jitter_rms",
    "load"};
constexpr std::string_view kToleranceKeys[] = {"make", "temperature", "ageing",
                                               "combine"};
constexpr std::string_view kDutyKeys[] = {"low", "high"};
constexpr std::string_view kSuspectKeys[] = {"name", "frequency", "tolerance"};

Result<ToleranceBand> need_band(const json& object, const std::string& pointer,
                                const std::string& key) {
  const Result<std::string> text = need_text(object, pointer, key, "30ppm");
  if (!text) return tl::unexpected<Error>(text.error());
  const Result<ToleranceBand> band = parse_tolerance(*text);
  if (!band) return refuse(deeper(pointer, key), band.error());
  return band;
}

Result<SourceTolerance> read_source_tolerance(const json& value,
                                              const std::string& pointer) {
  SourceTolerance tolerance;
  if (value.is_string()) {
    const Result<ToleranceBand> make =
        parse_tolerance(value.get_ref<const std::string&>());
    if (!make) return refuse(pointer, make.error());
    tolerance.make = *make;
    return tolerance;
  }
  if (!value.is_object()) {
    return refuse(pointer, found(value) + ", expected text or an object",
                  "a tolerance needs its unit, for example \"30ppm\" or { "
                  "\"make\": \"20ppm\", "
                  "\"temperature\": \"30ppm\" }");
  }
  if (Failure f = check_object(value, pointer, kToleranceKeys)) return *f;
  const Result<ToleranceBand> make = need_band(value, pointer, "make");
  if (!make) return tl::unexpected<Error>(make.error());
  tolerance.make = *make;
  const std::pair<const char*, std::optional<ToleranceBand>*> optional[] = {
      {"temperature", &tolerance.temperature}, {"ageing", &tolerance.ageing}};
  for (const auto& [key, band] : optional) {
    if (!value.contains(key)) continue;
    const Result<ToleranceBand> read = need_band(value, pointer, key);
    if (!read) return tl::unexpected<Error>(read.error());
    *band = *read;
  }
  if (value.contains("combine")) {
    const Result<std::string> rule =
        need_text(value, pointer, "combine", "sum");
    if (!rule) return tl::unexpected<Error>(rule.error());
    if (*rule != "sum" && *rule != "rss") {
      return refuse(deeper(pointer, "combine"),
                    "found \"" + *rule + "\", expected \"sum\" or \"rss\"");
    }
    tolerance.combine =
        *rule == "rss" ? CombineRule::kRootSumSquare : CombineRule::kSum;
  }
  return tolerance;
}

Result<RequirementAsked> read_requirement(const json& value,
                                          const std::string& pointer) {
  if (value.is_string()) {
    const Result<RequirementAsked> asked =
        resolve_requirement(value.get_ref<const std::string&>(), {});
    if (!asked) return refuse(pointer, asked.error());
    return asked;
  }
  if (!value.is_object()) {
    return refuse(pointer, found(value) + ", expected text or an object",
                  "for example \"usb-fs-device\"");
  }
  const Result<std::string> id = need_text(value, pointer, "id", "can-classic");
  if (!id) return tl::unexpected<Error>(id.error());
  RequirementParameters parameters;
  for (const auto& [key, parameter] : value.items()) {
    if (key == "id") continue;
    if (!parameter.is_number() && !parameter.is_string()) {
      return refuse(
          deeper(pointer, key),
          found(parameter) + ", expected a number, or text with a quantity");
    }
    // The shortest decimal that reads back the same: as it was written.
    parameters.emplace(key, parameter.is_string() ? parameter.get<std::string>()
                                                  : parameter.dump());
  }
  const Result<RequirementAsked> asked = resolve_requirement(*id, parameters);
  if (!asked) return refuse(pointer, asked.error());
  return asked;
}

Failure read_requirements(const json& clock, const std::string& pointer,
                          ClockSpec& into) {
  const auto member = clock.find("requirements");
  if (member == clock.end()) return std::nullopt;
  const std::string here = deeper(pointer, "requirements");
  if (!member->is_array()) {
    return refuse(here, found(*member) + ", expected a list",
                  "for example [\"usb-fs-device\"]");
  }
  for (std::size_t i = 0; i < member->size(); ++i) {
    Result<RequirementAsked> asked =
        read_requirement((*member)[i], deeper(here, i));
    if (!asked) return tl::unexpected<Error>(asked.error());
    const auto shown = check_shown(*asked, into.expect.frequency_hz);
    if (!shown) return refuse(deeper(here, i), shown.error());
    into.requirements.push_back(*std::move(asked));
  }
  return std::nullopt;
}

Result<double> need_fraction(const json& object, const std::string& pointer,
                             const char* key) {
  const std::string here = deeper(pointer, key);
  const auto member = object.find(key);
  if (member == object.end()) {
    return refuse(pointer, "the key \"" + std::string(key) + "\" is missing",
                  "for example { \"low\": 0.45, \"high\": 0.55 }");
  }
  if (!member->is_number()) {
    return refuse(here, found(*member) + ", expected a number");
  }
  const double value = member->get<double>();
  if (value >= 0.0 && value <= 1.0) return value;
  return refuse(here, found(*member) + ", expected a fraction from 0 to 1",
                "high time over period: 0.45 is 45 %");
}

Failure read_duty(const json& clock, const std::string& pointer,
                  ClockSpec& into) {
  const auto member = clock.find("duty");
  if (member == clock.end()) return std::nullopt;
  const std::string here = deeper(pointer, "duty");
  if (!member->is_object()) {
    return refuse(here, found(*member) + ", expected an object",
                  "for example { \"low\": 0.45, \"high\": 0.55 }");
  }
  if (Failure f = check_object(*member, here, kDutyKeys)) return *f;
  const auto low = need_fraction(*member, here, "low");
  if (!low) return tl::unexpected<Error>(low.error());
  const auto high = need_fraction(*member, here, "high");
  if (!high) return tl::unexpected<Error>(high.error());
  if (*low > *high) {
    return refuse(here, "found a low above the high", "swap them");
  }
  into.duty = DutyBand{*low, *high};
  return std::nullopt;
}

Result<Rational> need_time(const json& clock, const std::string& pointer,
                           const std::string& key, const char* example) {
  const Result<std::string> text = need_quantity(clock, pointer, key, example);
  if (!text) return tl::unexpected<Error>(text.error());
  const Result<Rational> time = parse_time(*text);
  if (!time) return refuse(deeper(pointer, key), time.error());
  if (*time <= Rational(0)) {
    return refuse(deeper(pointer, key),
                  "found \"" + *text + "\", expected a time above zero");
  }
  return time;
}

Failure read_period_jitter(const json& clock, const std::string& pointer,
                           ClockSpec& into) {
  if (!clock.contains("period_jitter_rms")) return std::nullopt;
  const auto most = need_time(clock, pointer, "period_jitter_rms", "300ps");
  if (!most) return tl::unexpected<Error>(most.error());
  // Beyond its period a clock has no jitter, and any would pass.
  if (*most >= *divide(1, into.expect.frequency_hz)) {
    return refuse(
        deeper(pointer, "period_jitter_rms"),
        "found " + number_text(most->to_double(), kDigits) +
            " s, expected less than the period, " +
            number_text(1.0 / into.expect.frequency_hz.to_double(), kDigits) +
            " s",
        "a bare number is seconds: write the unit, for example "
        "\"300ps\"");
  }
  into.period_jitter_s = *most;
  return std::nullopt;
}

Failure read_settling(const json& clock, const std::string& pointer,
                      ClockSpec& into) {
  if (!clock.contains("settle_within")) return std::nullopt;
  const auto within = need_time(clock, pointer, "settle_within", "5ms");
  if (!within) return tl::unexpected<Error>(within.error());
  into.settle_within_s = *within;
  const auto& written = clock["settle_within"];
  if (written.is_number() || is_bare(written.get_ref<const std::string&>())) {
    into.remarks.push_back("settle_within has no unit and was read as " +
                           number_text(within->to_double(), kDigits) + " s.");
  }
  return std::nullopt;
}

Result<ClockSpec> read_clock(const json& value, const std::string& pointer) {
  if (Failure f = check_object(value, pointer, kClockKeys)) return *f;
  ClockSpec clock;
  const Result<std::string> expect =
      need_quantity(value, pointer, "expect", "24MHz / 2");
  if (!expect) return tl::unexpected<Error>(expect.error());
  Result<ClockPath> path = parse_clock_path(*expect);
  if (!path) return refuse(deeper(pointer, "expect"), path.error());
  clock.expect = *std::move(path);
  if (!value.contains("tolerance")) {
    return refuse(pointer, "the key \"tolerance\" is missing",
                  "for example \"tolerance\": \"30ppm\"");
  }
  const Result<SourceTolerance> tolerance =
      read_source_tolerance(value["tolerance"], deeper(pointer, "tolerance"));
  if (!tolerance) return tl::unexpected<Error>(tolerance.error());
  clock.tolerance = *tolerance;
  if (value.contains("source")) {
    Result<std::string> source =
        need_text(value, pointer, "source", "main crystal");
    if (!source) return tl::unexpected<Error>(source.error());
    clock.source = *std::move(source);
  }
  if (value.contains("channel")) {
    Result<std::string> channel =
        need_text(value, pointer, "channel", "clk_out");
    if (!channel) return tl::unexpected<Error>(channel.error());
    clock.channel = *std::move(channel);
  }
  clock.name = clock.channel.value_or(clock.expect.text);
  if (value.contains("name")) {
    Result<std::string> name =
        need_text(value, pointer, "name", "clock output");
    if (!name) return tl::unexpected<Error>(name.error());
    clock.name = *std::move(name);
  }
  if (Failure f = read_requirements(value, pointer, clock)) return *f;
  if (Failure f = read_settling(value, pointer, clock)) return *f;
  if (Failure f = read_duty(value, pointer, clock)) return *f;
  if (Failure f = read_period_jitter(value, pointer, clock)) return *f;
  if (value.contains("load")) {
    const Result<LoadSpec> load =
        read_load(value["load"], deeper(pointer, "load"));
    if (!load) return tl::unexpected<Error>(load.error());
    clock.load = *load;
  }
  return clock;
}

Result<Suspect> read_suspect(const json& value, const std::string& pointer) {
  if (Failure f = check_object(value, pointer, kSuspectKeys)) return *f;
  Suspect suspect;
  Result<std::string> name =
      need_text(value, pointer, "name", "the former crystal");
  if (!name) return tl::unexpected<Error>(name.error());
  suspect.name = *std::move(name);
  const Result<std::string> text =
      need_quantity(value, pointer, "frequency", "16MHz");
  if (!text) return tl::unexpected<Error>(text.error());
  const Result<Rational> frequency = parse_frequency(*text);
  if (!frequency) {
    return refuse(deeper(pointer, "frequency"), frequency.error());
  }
  suspect.frequency_hz = *frequency;
  const Result<ToleranceBand> band = need_band(value, pointer, "tolerance");
  if (!band) return tl::unexpected<Error>(band.error());
  suspect.tolerance_ppm = *band;
  return suspect;
}

Failure read_clocks(const json& tree, Specification& specification) {
  const auto clocks = tree.find("clocks");
  if (clocks == tree.end()) {
    return refuse("", "the key \"clocks\" is missing",
                  "for example \"clocks\": [ { \"expect\": \"24MHz / 2\", "
                  "\"tolerance\": \"30ppm\" } ]");
  }
  if (!clocks->is_array()) {
    return refuse("/clocks", found(*clocks) + ", expected a list");
  }
  if (clocks->empty()) {
    return refuse("/clocks",
                  "found an empty list, expected at least one clock");
  }
  for (std::size_t i = 0; i < clocks->size(); ++i) {
    Result<ClockSpec> clock = read_clock((*clocks)[i], deeper("/clocks", i));
    if (!clock) return tl::unexpected<Error>(clock.error());
    specification.clocks.push_back(*std::move(clock));
  }
  return std::nullopt;
}

Failure read_captured_at(const json& tree, Specification& specification) {
  if (!tree.contains("captured_at")) return std::nullopt;
  const auto text = need_text(tree, "", "captured_at", "23degC");
  if (!text) return tl::unexpected<Error>(text.error());
  const Result<Rational> at = parse_temperature(*text);
  if (!at) return refuse("/captured_at", at.error());
  for (ClockSpec& clock : specification.clocks) {
    clock.tolerance.captured_at_c = *at;
  }
  return std::nullopt;
}

// A suspect so far below every source is one whose unit was left out.
void remark_on_suspect(const json& written, const Suspect& suspect,
                       std::vector<ClockSpec>& clocks) {
  const auto& frequency = written["frequency"];
  if (!frequency.is_number() &&
      !is_bare(frequency.get_ref<const std::string&>())) {
    return;
  }
  constexpr double kFarBelow = 100.0;  // chosen
  for (ClockSpec& clock : clocks) {
    if (suspect.frequency_hz.to_double() * kFarBelow >
        clock.expect.source_hz.to_double()) {
      continue;
    }
    clock.remarks.push_back(
        "The frequency of the suspect \"" + suspect.name +
        "\" has no unit and was read as " +
        number_text(suspect.frequency_hz.to_double(), kDigits) + " Hz.");
  }
}

Failure read_suspects(const json& tree, Specification& specification) {
  const auto suspects = tree.find("suspects");
  if (suspects == tree.end()) return std::nullopt;
  if (!suspects->is_array()) {
    return refuse("/suspects", found(*suspects) + ", expected a list");
  }
  for (std::size_t i = 0; i < suspects->size(); ++i) {
    Result<Suspect> suspect =
        read_suspect((*suspects)[i], deeper("/suspects", i));
    if (!suspect) return tl::unexpected<Error>(suspect.error());
    remark_on_suspect((*suspects)[i], *suspect, specification.clocks);
    specification.suspects.push_back(*std::move(suspect));
  }
  return std::nullopt;
}

}  // namespace

Result<Specification> parse_specification(std::string_view text) {
  const Result<json> document = read_json_document(text);
  if (!document) return tl::unexpected<Error>(document.error());
  const json& tree = *document;
  if (Failure f = check_object(tree, "", kTopKeys)) return *f;
  Specification specification;
  if (tree.contains("title")) {
    Result<std::string> title =
        need_text(tree, "", "title", "field logger, main crystal changed");
    if (!title) return tl::unexpected<Error>(title.error());
    specification.title = *std::move(title);
  }
  if (Failure f = read_clocks(tree, specification)) return *f;
  if (Failure f = read_captured_at(tree, specification)) return *f;
  if (Failure f = read_suspects(tree, specification)) return *f;
  return specification;
}

}  // namespace clockassay
