// SPDX-License-Identifier: GPL-3.0-or-later
#include "clockassay/base/quantity_text.h"

#include <cstddef>
#include <optional>
#include <span>
#include <string>
#include <utility>

#include "base/ascii_digit.h"
#include "clockassay/base/decimal.h"
#include "clockassay/base/electric_text.h"

namespace clockassay {
namespace {

struct Unit {
  std::string_view text;
  int exponent;  // the unit is 10^exponent of the base unit
};

constexpr Unit kFrequencyUnits[] = {
    {"Hz", 0}, {"kHz", 3}, {"MHz", 6}, {"GHz", 9}};

constexpr Unit kSampleRateUnits[] = {
    {"Hz", 0},    {"kHz", 3},   {"MHz", 6},  {"GHz", 9},  {"S/s", 0},
    {"kS/s", 3},  {"MS/s", 6},  {"GS/s", 9}, {"Sa/s", 0}, {"kSa/s", 3},
    {"MSa/s", 6}, {"GSa/s", 9}, {"sps", 0},  {"ksps", 3}, {"Msps", 6},
    {"Gsps", 9},  {"Sps", 0},   {"kSps", 3}, {"MSps", 6}, {"GSps", 9}};

// The micro sign exists twice, U+00B5 and U+03BC; keyboards differ.
constexpr Unit kTimeUnits[] = {{"s", 0},          {"ms", -3},        {"us", -6},
                               {"\xC2\xB5s", -6}, {"\xCE\xBCs", -6}, {"ns", -9},
                               {"ps", -12},       {"fs", -15}};

constexpr Unit kCapacitanceUnits[] = {{"F", 0},
                                      {"uF", -6},
                                      {"\xC2\xB5"
                                       "F",
                                       -6},
                                      {"\xCE\xBC"
                                       "F",
                                       -6},
                                      {"nF", -9},
                                      {"pF", -12},
                                      {"fF", -15}};

constexpr Unit kTemperatureUnits[] = {{"degC", 0},
                                      {"\xC2\xB0"
                                       "C",
                                       0}};

// The ohm sign exists twice, U+03A9 and U+2126.
constexpr Unit kResistanceUnits[] = {
    {"ohm", 0},           {"kohm", 3},         {"Mohm", 6},
    {"\xCE\xA9", 0},      {"\xE2\x84\xA6", 0}, {"k\xCE\xA9", 3},
    {"k\xE2\x84\xA6", 3}, {"M\xCE\xA9", 6},    {"M\xE2\x84\xA6", 6}};

constexpr Unit kTransconductanceUnits[] = {{"S", 0},
                                           {"mS", -3},
                                           {"uS", -6},
                                           {"\xC2\xB5S", -6},
                                           {"\xCE\xBCS", -6},
                                           {"A/V", 0},
                                           {"mA/V", -3},
                                           {"uA/V", -6},
                                           {"\xC2\xB5"
                                            "A/V",
                                            -6},
                                           {"\xCE\xBC"
                                            "A/V",
                                            -6}};

constexpr Unit kVoltageUnits[] = {
    {"V", 0}, {"mV", -3}, {"uV", -6}, {"\xC2\xB5V", -6}, {"\xCE\xBCV", -6}};

constexpr Unit kPowerUnits[] = {{"W", 0},          {"mW", -3},
                                {"uW", -6},        {"\xC2\xB5W", -6},
                                {"\xCE\xBCW", -6}, {"nW", -9}};

constexpr Unit kFractionUnits[] = {{"ppm", 0}, {"ppb", -3}, {"%", 4}};

// What one reader accepts, and its words for messages.
struct Grammar {
  std::string_view noun;     // "a frequency"
  std::string_view allowed;  // the units, for a person
  std::string_view example;
  std::span<const Unit> units;
  bool bare_allowed;  // a number without a unit is in the base unit
};

constexpr Grammar kFrequency{"a frequency", "Hz, kHz, MHz, GHz", "12MHz",
                             kFrequencyUnits, true};
constexpr Grammar kSampleRate{"a sample rate",
                              "Hz, kHz, MHz, GHz, or S/s, kS/s, MS/s, GS/s",
                              "24MS/s", kSampleRateUnits, true};
constexpr Grammar kTime{"a time", "s, ms, us, ns, ps, fs", "10ms", kTimeUnits,
                        true};
constexpr Grammar kCapacitance{"a capacitance", "F, uF, nF, pF, fF", "12pF",
                               kCapacitanceUnits, true};
constexpr Grammar kTemperature{"a temperature", "degC", "23degC",
                               kTemperatureUnits, false};

constexpr Grammar kResistance{"a resistance", "ohm, kohm, Mohm", "60ohm",
                              kResistanceUnits, true};
constexpr Grammar kTransconductance{"a transconductance",
                                    "S, mS, uS, A/V, mA/V, uA/V", "5mA/V",
                                    kTransconductanceUnits, true};
constexpr Grammar kVoltage{"a voltage", "V, mV, uV", "3.3V", kVoltageUnits,
                           true};
constexpr Grammar kPower{"a power", "W, mW, uW, nW", "100uW", kPowerUnits,
                         true};
constexpr Grammar kFraction{"a fraction", "ppm, ppb, %", "30ppm",
                            kFractionUnits, false};

// An end of a range; bare numbers are allowed there.
constexpr Grammar kRangeEnd{"a temperature",
                            "degC, \xC2\xB0"
                            "C",
                            "85degC", kTemperatureUnits, true};

constexpr std::string_view kPlusMinus = "\xC2\xB1";  // U+00B1 in UTF-8
constexpr std::string_view kPlusMinusAscii = "+-";

bool is_blank(char c) {
  return c == ' ' || c == '\t';
}

std::string_view trim(std::string_view text) {
  while (!text.empty() && is_blank(text.front())) text.remove_prefix(1);
  while (!text.empty() && is_blank(text.back())) text.remove_suffix(1);
  return text;
}

std::string lower_ascii(std::string_view text) {
  std::string lower(text);
  for (char& c : lower) {
    if (c >= 'A' && c <= 'Z') c = static_cast<char>(c - 'A' + 'a');
  }
  return lower;
}

std::string quote(std::string_view text) {
  return "\"" + std::string(text) + "\"";
}

tl::unexpected<Error> refuse(std::string_view text, std::string_view noun,
                             const std::string& why, std::string hint = {}) {
  return failure(
      ErrorCode::kUsage,
      "cannot read " + quote(text) + " as " + std::string(noun) + ": " + why,
      std::move(hint));
}

// Bytes at the front that can belong to a decimal number.
std::size_t number_length(std::string_view text) {
  std::size_t i = 0;
  if (i < text.size() && (text[i] == '+' || text[i] == '-')) ++i;
  bool point = false;
  while (i < text.size() && (is_digit(text[i]) || (text[i] == '.' && !point))) {
    point = point || text[i] == '.';
    ++i;
  }
  if (i >= text.size() || (text[i] != 'e' && text[i] != 'E')) return i;
  std::size_t j = i + 1;
  if (j < text.size() && (text[j] == '+' || text[j] == '-')) ++j;
  if (j >= text.size() || !is_digit(text[j])) return i;
  while (j < text.size() && is_digit(text[j])) ++j;
  return j;
}

// The unit meant by one written in the wrong case or without its base unit.
std::optional<std::string_view> similar_unit(std::string_view written,
                                             const Grammar& grammar) {
  const std::string lower = lower_ascii(written);
  for (const Unit& unit : grammar.units) {
    const std::string known = lower_ascii(unit.text);
    if (lower == known || lower + "hz" == known) return unit.text;
  }
  return std::nullopt;
}

tl::unexpected<Error> refuse_unit(std::string_view text, std::string_view unit,
                                  const Grammar& grammar) {
  const std::string allowed = "allowed are " + std::string(grammar.allowed);
  if (unit.empty()) {
    return refuse(
        text, grammar.noun, "found no unit, " + allowed,
        "write the unit, for example " + std::string(grammar.example));
  }
  if (unit == "mHz") {
    return refuse(text, grammar.noun,
                  "found \"mHz\", which is a thousandth of a hertz, " + allowed,
                  "did you mean \"MHz\"?");
  }
  std::string hint = "for example " + std::string(grammar.example);
  if (unit.front() == ',') hint = "the decimal mark is a point";
  if (const auto similar = similar_unit(unit, grammar)) {
    hint = "did you mean " + quote(*similar) + "?";
  }
  return refuse(text, grammar.noun,
                "found " + quote(unit) + " after the number, " + allowed,
                std::move(hint));
}

std::optional<int> unit_exponent(std::string_view unit,
                                 const Grammar& grammar) {
  if (unit.empty() && grammar.bare_allowed) return 0;
  for (const Unit& known : grammar.units) {
    if (known.text == unit) return known.exponent;
  }
  return std::nullopt;
}

// A number and a unit, in the base unit of the grammar.
Result<Rational> read_quantity(std::string_view text, const Grammar& grammar) {
  const std::string_view body = trim(text);
  const std::size_t length = number_length(body);
  const std::string_view number = body.substr(0, length);
  if (number.find_first_of("0123456789") == std::string_view::npos) {
    return refuse(text, grammar.noun,
                  "found no number, expected a decimal number and a unit",
                  "for example " + std::string(grammar.example));
  }
  const std::string_view unit = trim(body.substr(length));
  const std::optional<int> exponent = unit_exponent(unit, grammar);
  if (!exponent) return refuse_unit(text, unit, grammar);
  const std::optional<Decimal> decimal = parse_decimal(number);
  const std::optional<Decimal> scale =
      parse_decimal("1e" + std::to_string(*exponent));
  std::optional<Rational> value;
  if (decimal && scale) value = multiply(decimal->value, scale->value);
  if (!value) {
    return refuse(text, grammar.noun,
                  "the number is too large or has too many digits",
                  "about 37 digits can be held exactly");
  }
  return *value;
}

struct PlusMinus {
  std::size_t position;
  std::size_t length;
};

std::optional<PlusMinus> find_plus_minus(std::string_view text) {
  for (std::string_view sign : {kPlusMinus, kPlusMinusAscii}) {
    const std::size_t at = text.find(sign);
    if (at != std::string_view::npos) return PlusMinus{at, sign.size()};
  }
  return std::nullopt;
}

/// 100 %, in ppm: no clock is wanted within it.
const Rational kWhole(1'000'000);

enum class Zero { kRefused, kAllowed };

// A tolerance without its ±; `whole` is what the user wrote, for messages.
Result<Rational> read_tolerance_size(std::string_view whole,
                                     std::string_view size,
                                     std::string_view signed_hint,
                                     Zero zero = Zero::kRefused) {
  const std::string_view body = trim(size);
  if (!body.empty() && (body[0] == '-' || body[0] == '+')) {
    return refuse(whole, "a tolerance",
                  "found a sign, expected a size without one",
                  std::string(signed_hint));
  }
  Result<Rational> value = read_quantity(size, kFraction);
  if (!value) return value;
  if (value->sign() == 0 && zero == Zero::kRefused) {
    return refuse(whole, "a tolerance", "found zero, expected more than zero");
  }
  if (*value >= kWhole) {
    return refuse(whole, "a tolerance", "found 100 % or more, expected less");
  }
  return value;
}

// "+/-" is written often enough to deserve its own answer.
std::optional<tl::unexpected<Error>> refuse_slashed_sign(
    std::string_view text) {
  if (text.find("+/-") == std::string_view::npos) return std::nullopt;
  return refuse(text, "a tolerance", "found \"+/-\"", "write \"±\" or \"+-\"");
}

Result<Rational> read_not_negative(std::string_view text,
                                   const Grammar& grammar) {
  Result<Rational> value = read_quantity(text, grammar);
  if (value && value->sign() < 0) {
    return refuse(text, grammar.noun,
                  "found a negative value, expected zero or more");
  }
  return value;
}

Result<Rational> read_positive(std::string_view text, const Grammar& grammar) {
  Result<Rational> value = read_quantity(text, grammar);
  if (value && value->sign() <= 0) {
    return refuse(text, grammar.noun,
                  value->sign() < 0 ? "found a negative value, expected more "
                                      "than zero"
                                    : "found zero, expected more than zero");
  }
  return value;
}

// "-5300ppm..300ppm", with `dots` where the ends part.
Result<ToleranceBand> read_two_ends(std::string_view text, std::size_t dots) {
  const Result<Rational> low = read_quantity(text.substr(0, dots), kFraction);
  if (!low) return tl::unexpected<Error>(low.error());
  const Result<Rational> high = read_quantity(text.substr(dots + 2), kFraction);
  if (!high) return tl::unexpected<Error>(high.error());
  if (*low >= *high) {
    return refuse(text, "a tolerance",
                  "the lower end is not below the upper end",
                  "for example -5300ppm..300ppm");
  }
  if (*low <= Rational(-1'000'000) || *high >= kWhole) {
    return refuse(text, "a tolerance",
                  "found an end at 100 % or more, expected less");
  }
  return ToleranceBand{*low, *high};
}

Result<ToleranceBand> read_tolerance(std::string_view text, Zero zero) {
  if (auto error = refuse_slashed_sign(text)) return *error;
  const std::size_t dots = text.find("..");
  if (dots != std::string_view::npos) return read_two_ends(text, dots);
  std::string_view size = trim(text);
  const std::optional<PlusMinus> sign = find_plus_minus(size);
  if (sign && sign->position == 0) size.remove_prefix(sign->length);
  const Result<Rational> high = read_tolerance_size(
      text, size, "for unequal limits write both, for example -10ppm..30ppm",
      zero);
  if (!high) return tl::unexpected<Error>(high.error());
  return ToleranceBand{*subtract(0, *high), *high};
}

}  // namespace

Result<Rational> parse_frequency(std::string_view text) {
  return read_positive(text, kFrequency);
}

Result<Rational> parse_sample_rate(std::string_view text) {
  return read_positive(text, kSampleRate);
}

Result<Rational> parse_time(std::string_view text) {
  return read_not_negative(text, kTime);
}

Result<Rational> parse_capacitance(std::string_view text) {
  return read_not_negative(text, kCapacitance);
}

Result<Rational> parse_temperature(std::string_view text) {
  const Rational absolute_zero = *Rational::make(-27315, 100);
  Result<Rational> value = read_quantity(text, kTemperature);
  if (value && *value < absolute_zero) {
    return refuse(text, kTemperature.noun,
                  "found less than absolute zero, -273.15 degC");
  }
  return value;
}

Result<Rational> parse_resistance(std::string_view text) {
  return read_positive(text, kResistance);
}

Result<Rational> parse_transconductance(std::string_view text) {
  return read_positive(text, kTransconductance);
}

Result<Rational> parse_voltage(std::string_view text) {
  return read_positive(text, kVoltage);
}

Result<Rational> parse_power(std::string_view text) {
  return read_positive(text, kPower);
}

Result<Rational> parse_fraction(std::string_view text) {
  return read_quantity(text, kFraction);
}

Result<ToleranceBand> parse_tolerance(std::string_view text) {
  return read_tolerance(text, Zero::kRefused);
}

Result<ToleranceBand> parse_tolerance_or_zero(std::string_view text) {
  return read_tolerance(text, Zero::kAllowed);
}

Result<TemperatureRange> parse_temperature_range(std::string_view text) {
  constexpr std::string_view kNoun = "a range of temperatures";
  constexpr const char* kExample = "for example -40..85";
  const std::size_t dots = text.find("..");
  if (dots == std::string_view::npos) {
    return refuse(text, kNoun, "found no \"..\" between two temperatures",
                  kExample);
  }
  const Result<Rational> low = read_quantity(text.substr(0, dots), kRangeEnd);
  if (!low) return tl::unexpected<Error>(low.error());
  const Result<Rational> high = read_quantity(text.substr(dots + 2), kRangeEnd);
  if (!high) return tl::unexpected<Error>(high.error());
  if (*low >= *high) {
    return refuse(text, kNoun, "the lower end is not below the upper end",
                  kExample);
  }
  if (*low < Rational(-273) || *high > Rational(1000)) {
    return refuse(text, kNoun,
                  "found an end below -273 or above 1000 degrees Celsius",
                  kExample);
  }
  return TemperatureRange{*low, *high};
}

Result<OffsetAndTolerance> parse_offset_tolerance(std::string_view text) {
  if (auto error = refuse_slashed_sign(text)) return *error;
  const std::string_view body = trim(text);
  OffsetAndTolerance result;
  std::string_view size = body;
  if (const std::optional<PlusMinus> sign = find_plus_minus(body)) {
    size = body.substr(sign->position + sign->length);
    result.has_offset = sign->position != 0;
    if (result.has_offset) {
      const Result<Rational> offset =
          parse_fraction(body.substr(0, sign->position));
      if (!offset) return tl::unexpected<Error>(offset.error());
      result.offset_ppm = *offset;
    }
  }
  const Result<Rational> tolerance = read_tolerance_size(
      text, size, "an offset needs its tolerance, for example -12.3ppm±2ppm");
  if (!tolerance) return tl::unexpected<Error>(tolerance.error());
  result.tolerance_ppm = *tolerance;
  return result;
}

Result<FrequencyAndTolerance> parse_frequency_tolerance(std::string_view text) {
  if (auto error = refuse_slashed_sign(text)) return *error;
  const std::optional<PlusMinus> sign = find_plus_minus(text);
  FrequencyAndTolerance result;
  const Result<Rational> frequency =
      parse_frequency(sign ? text.substr(0, sign->position) : text);
  if (!frequency) return tl::unexpected<Error>(frequency.error());
  result.frequency_hz = *frequency;
  if (!sign) return result;
  const Result<Rational> tolerance =
      read_tolerance_size(text, text.substr(sign->position + sign->length),
                          "for example 10MHz±0.1ppm");
  if (!tolerance) return tl::unexpected<Error>(tolerance.error());
  result.tolerance_ppm = *tolerance;
  return result;
}

Result<CapacitanceAndTolerance> parse_capacitance_tolerance(
    std::string_view text) {
  if (auto error = refuse_slashed_sign(text)) return *error;
  const std::optional<PlusMinus> sign = find_plus_minus(text);
  CapacitanceAndTolerance result;
  const Result<Rational> value =
      parse_capacitance(sign ? text.substr(0, sign->position) : text);
  if (!value) return tl::unexpected<Error>(value.error());
  result.farads = *value;
  if (!sign) return result;
  const Result<Rational> tolerance =
      parse_capacitance(text.substr(sign->position + sign->length));
  if (!tolerance) return tl::unexpected<Error>(tolerance.error());
  if (*tolerance > *value) {
    return refuse(text, "a capacitance",
                  "found a tolerance above the value, expected one within it",
                  "for example 3pF±1pF");
  }
  result.tolerance_farads = *tolerance;
  return result;
}

}  // namespace clockassay
