// SPDX-License-Identifier: GPL-3.0-or-later
#include "verdict/load_reader.h"

#include <optional>
#include <string_view>

#include "clockassay/base/quantity_text.h"
#include "verdict/json_document.h"
#include "verdict/json_fields.h"

namespace clockassay {
namespace {

using nlohmann::json;

constexpr std::string_view kLoadKeys[] = {
    "nominal", "capacitors", "stray_across", "stray_per_pin", "c0", "c1"};

// Outside of these a unit was mistaken. Chosen, a decade and more beyond what
// crystals have.
struct Range {
  Farads low;
  Farads high;
  const char* words;
  const char* example;
};
constexpr Range kNominal{Farads(1e-12), Farads(200e-12), "1 pF to 200 pF",
                         "12pF"};
constexpr Range kCapacitor{Farads(0.0), Farads(1e-9), "0 (none fitted) to 1 nF",
                           "15pF"};
constexpr Range kStray{Farads(0.0), Farads(100e-12), "0 to 100 pF", "4pF"};
constexpr Range kC0{Farads(0.05e-12), Farads(100e-12), "0.05 pF to 100 pF",
                    "3pF"};
constexpr Range kC1{Farads(1e-17), Farads(1e-12), "0.01 fF to 1 pF", "8fF"};

// No resonator of quartz comes near; 8 pF written for 8 fF does. Chosen.
constexpr double kLeastC0OverC1 = 10.0;

Result<Farads> read_capacitance(const json& value, const std::string& pointer,
                                const Range& range) {
  const Result<std::string> text = read_quantity(value, pointer, range.example);
  if (!text) return tl::unexpected<Error>(text.error());
  const Result<Rational> read = parse_capacitance(*text);
  if (!read) return refuse(pointer, read.error());
  const Farads farads(read->to_double());
  if (farads < range.low || farads > range.high) {
    return refuse(pointer, "found \"" + *text + "\", expected " + range.words,
                  "for example \"" + std::string(range.example) + "\"");
  }
  return farads;
}

Failure read_optional(const json& load, const std::string& pointer,
                      const char* key, const Range& range,
                      std::optional<Farads>& into) {
  const auto member = load.find(key);
  if (member == load.end()) return std::nullopt;
  const Result<Farads> read =
      read_capacitance(*member, deeper(pointer, key), range);
  if (!read) return tl::unexpected<Error>(read.error());
  into = *read;
  return std::nullopt;
}

Failure read_capacitors(const json& load, const std::string& pointer,
                        LoadSpec& into) {
  const auto member = load.find("capacitors");
  if (member == load.end()) return std::nullopt;
  const std::string here = deeper(pointer, "capacitors");
  const char* const hint = "for example [\"15pF\", \"15pF\"]";
  if (!member->is_array()) {
    return refuse(here, found(*member) + ", expected a list of two", hint);
  }
  if (member->size() != 2) {
    return refuse(here,
                  "found a list of " + std::to_string(member->size()) +
                      ", expected two: one from each pin to ground",
                  hint);
  }
  CapacitorPair pair;
  Farads* const legs[] = {&pair.a, &pair.b};
  for (std::size_t i = 0; i < 2; ++i) {
    const Result<Farads> read =
        read_capacitance((*member)[i], deeper(here, i), kCapacitor);
    if (!read) return tl::unexpected<Error>(read.error());
    *legs[i] = *read;
  }
  into.capacitors = pair;
  return std::nullopt;
}

Failure refuse_contradictions(const LoadSpec& load,
                              const std::string& pointer) {
  if (load.stray_across && load.stray_per_pin) {
    return refuse(deeper(pointer, "stray_per_pin"),
                  "found it beside \"stray_across\", expected one of the two",
                  "stray of P at each pin is P/2 across the crystal");
  }
  if (load.c0 && load.c1 && *load.c0 / *load.c1 < kLeastC0OverC1) {
    return refuse(deeper(pointer, "c1"),
                  "found more than a tenth of \"c0\", expected some hundredth "
                  "of it or less",
                  "C1, the motional capacitance, is some fF; C0, the shunt "
                  "capacitance, some pF");
  }
  return std::nullopt;
}

}  // namespace

Result<LoadSpec> read_load(const json& value, const std::string& pointer) {
  if (Failure f = check_object(value, pointer, kLoadKeys)) return *f;
  if (!value.contains("nominal")) {
    return refuse(pointer, "the key \"nominal\" is missing",
                  "the load the crystal is made for, for example "
                  "\"nominal\": \"12pF\"");
  }
  LoadSpec load;
  const Result<Farads> nominal =
      read_capacitance(value["nominal"], deeper(pointer, "nominal"), kNominal);
  if (!nominal) return tl::unexpected<Error>(nominal.error());
  load.nominal = *nominal;
  if (Failure f = read_capacitors(value, pointer, load)) return *f;
  const struct {
    const char* key;
    const Range& range;
    std::optional<Farads>& into;
  } rest[] = {{"stray_across", kStray, load.stray_across},
              {"stray_per_pin", kStray, load.stray_per_pin},
              {"c0", kC0, load.c0},
              {"c1", kC1, load.c1}};
  for (const auto& [key, range, into] : rest) {
    if (Failure f = read_optional(value, pointer, key, range, into)) return *f;
  }
  if (Failure f = refuse_contradictions(load, pointer)) return *f;
  return load;
}

}  // namespace clockassay
