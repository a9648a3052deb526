// SPDX-License-Identifier: GPL-3.0-or-later
#include "capture/csv_voltage_unit.h"

#include <algorithm>
#include <iterator>

#include "capture/csv_cells.h"
#include "capture/power_of_ten.h"

namespace clockassay {
namespace {

struct VoltUnit {
  std::string_view text;
  int exponent;
};

// The micro sign in UTF-8, as the Greek letter, and in Latin-1.
constexpr VoltUnit kVoltUnits[] = {
    {"V", 0},     {"v", 0},          {"Volt", 0},       {"volt", 0},
    {"Volts", 0}, {"volts", 0},      {"mV", -3},        {"mv", -3},
    {"uV", -6},   {"\xC2\xB5V", -6}, {"\xCE\xBCV", -6}, {"\xB5V", -6},
    {"kV", 3}};

std::optional<int> unit_exponent(std::string_view text) {
  const auto* unit =
      std::find_if(std::begin(kVoltUnits), std::end(kVoltUnits),
                   [text](const VoltUnit& u) { return u.text == text; });
  if (unit == std::end(kVoltUnits)) return std::nullopt;
  return unit->exponent;
}

// What stands in brackets at the end, or all.
std::string_view in_brackets(std::string_view text) {
  if (!text.ends_with(')') && !text.ends_with(']')) return text;
  const std::size_t open = text.rfind(text.back() == ')' ? '(' : '[');
  if (open == std::string_view::npos) return text;
  return trim_cell(text.substr(open + 1, text.size() - open - 2));
}

}  // namespace

std::optional<int> volt_exponent(std::string_view name,
                                 std::string_view unit_row) {
  if (const auto unit = unit_exponent(in_brackets(trim_cell(unit_row)))) {
    return unit;
  }
  const std::string_view inside = in_brackets(name);
  if (inside.size() != name.size()) return unit_exponent(inside);
  const std::size_t mark = name.find_last_of("/_, ");
  if (mark == std::string_view::npos) return std::nullopt;
  return unit_exponent(name.substr(mark + 1));
}

Result<AnalogueOptions> in_unit_of_column(AnalogueOptions options,
                                          std::optional<int> volt_exponent) {
  const Rational unit = power_of_ten(volt_exponent.value_or(0));
  const auto convert = [&](bool in_volts, std::optional<Rational>& number) {
    if (!in_volts || !number) return true;
    number = divide(*number, unit);
    return number.has_value();
  };
  if (!convert(options.threshold_in_volts, options.threshold) ||
      !convert(options.hysteresis_in_volts, options.hysteresis)) {
    return failure(ErrorCode::kUsage,
                   "found a threshold or hysteresis with too many digits for "
                   "the unit of the column",
                   "write it with fewer digits");
  }
  options.threshold_in_volts = options.hysteresis_in_volts = false;
  return options;
}

}  // namespace clockassay
