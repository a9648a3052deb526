// SPDX-License-Identifier: GPL-3.0-or-later
#include "capture/csv_column_look.h"

#include <algorithm>
#include <compare>

#include "capture/csv_analogue.h"
#include "capture/csv_value_columns.h"
#include "capture/csv_word.h"
#include "capture/csv_word_bus.h"
#include "capture/shown_text.h"
#include "clockassay/base/letter_case.h"

namespace clockassay {
namespace {

// Different values that are told apart: more than two are no pair of levels.
constexpr std::size_t kMostValues = 3;

bool is_number(std::string_view cell, char mark) {
  return scan_decimal<Int128>(cell, mark).has_value();
}

bool is_digits(std::string_view cell) {
  return cell.find_first_not_of("0123456789") == std::string_view::npos;
}

bool is_hex(std::string_view cell) {
  return cell.find_first_not_of("0123456789abcdefABCDEF") ==
         std::string_view::npos;
}

constexpr std::string_view kUnknown = "xXzZ";

// x and z stand beside levels and digits of any kind.
bool is_unknown(std::string_view cell) {
  return cell.size() == 1 && kUnknown.find(cell[0]) != std::string_view::npos;
}

// A word with bits that are not known, such as xxxx0000.
bool has_unknown_digits(std::string_view cell) {
  return cell.find_first_of(kUnknown) != std::string_view::npos &&
         cell.find_first_not_of("0123456789abcdefABCDEFxXzZ") ==
             std::string_view::npos;
}

bool has_known_digits(std::string_view cell) {
  return cell.find_first_not_of(kUnknown) != std::string_view::npos;
}

// Words that are no levels by themselves, but if both stand in a column, say
// which is low: that after a falling edge.
constexpr std::pair<std::string_view, std::string_view> kWordPairs[] = {
    {"falling", "rising"}, {"fall", "rise"}, {"f", "r"},
    {"down", "up"},        {"lo", "hi"},     {"no", "yes"}};

// What all cells are, each of which is counted once.
struct Tally {
  std::size_t cells = 0;  // neither empty nor unknown
  std::size_t numbers = 0;
  std::size_t digits = 0;
  std::size_t hex = 0;    // x and z among the digits or not
  std::size_t words = 0;  // of these, known in part and no levels
  std::size_t prefixed = 0;
};

void note_value(std::string_view cell, std::vector<std::string_view>& values) {
  if (values.size() < kMostValues &&
      std::find(values.begin(), values.end(), cell) == values.end()) {
    values.push_back(cell);
  }
}

ColumnLook look_of(const Tally& t, const ColumnAppearance& seen) {
  if (!seen.first_odd) return ColumnLook::kLevels;
  if (t.prefixed == t.cells) return ColumnLook::kWords;
  const bool pair = seen.values.size() < kMostValues && !seen.leading_zeros;
  if (t.digits == t.cells) {
    return pair ? ColumnLook::kPair : ColumnLook::kIntegers;
  }
  if (t.numbers == t.cells) {
    return pair ? ColumnLook::kPair : ColumnLook::kNumbers;
  }
  if (t.hex == t.cells && t.words > 0) return ColumnLook::kIntegers;
  return pair ? ColumnLook::kPair : ColumnLook::kText;
}

// The least of the bases words may have in which the digits are some.
int least_radix(std::string_view cell) {
  if (cell.find_first_not_of("01xXzZ") == std::string_view::npos) return 2;
  return is_digits(cell) ? 10 : 16;
}

std::string bit_option(const FirstCells& column) {
  const BusName bus = bus_of(column.name, 1);
  return "--channel " + bus.bit(std::min(bus.range.first, bus.range.last));
}

// The swing of the cells that are numbers; nullopt when there is none.
std::optional<AnalogueSwing> swing_of(const FirstCells& column, char mark) {
  std::vector<std::string_view> cells;
  for (const FirstCell& cell : column.cells) {
    if (is_number(cell.text, mark)) cells.push_back(cell.text);
  }
  const int place = analogue_place(cells, mark, {});
  std::vector<Int128> values;
  for (std::string_view cell : cells) {
    const auto value = analogue_value(cell, mark, place);
    if (value) values.push_back(*value);
  }
  if (values.empty()) return std::nullopt;
  return analogue_swing(std::move(values), place);
}

// "if it holds voltages, here 0.01 to 3.31, say where it turns with …".
std::string voltage_hint(const FirstCells& column, char mark) {
  const auto swing = swing_of(column, mark);
  if (!swing) return "";
  const auto middle = swing->middle();
  return "if it holds voltages, here " +
         analogue_text(swing->least, swing->place) + " to " +
         analogue_text(swing->greatest, swing->place) +
         ", say where it turns with --threshold " +
         (middle ? analogue_text(*middle, swing->place) : "VOLTS");
}

std::string pair_hint(const FirstCells& column, const ColumnAppearance& seen,
                      char mark) {
  if (seen.values.size() < 2) return level_hint_for(seen.values[0], mark);
  std::string hint =
      "the column knows two values, " + shown_text(seen.values[0]) + " and " +
      shown_text(seen.values[1]) +
      ": say which is low and which is high with " + levels_option(seen, mark);
  if (seen.mostly_numbers) hint += "; " + voltage_hint(column, mark);
  return hint;
}

}  // namespace

std::string levels_option(const ColumnAppearance& seen, char mark) {
  std::string_view low = seen.values[0];
  std::string_view high = seen.values[1];
  for (const auto& [before, after] : kWordPairs) {
    if (equals_ignoring_case(high, before) &&
        equals_ignoring_case(low, after)) {
      std::swap(low, high);
    }
    if (equals_ignoring_case(low, before) &&
        equals_ignoring_case(high, after)) {
      return "--levels " + std::string(low) + "," + std::string(high);
    }
  }
  const auto a = scan_decimal<Int128>(low, mark);
  const auto b = scan_decimal<Int128>(high, mark);
  if (!a || !b) return "--levels LOW,HIGH";
  const auto swing =
      swing_of({{}, {{low, 0}, {high, 0}}}, mark);  // sorted exactly
  const auto first = analogue_value(low, mark, swing ? swing->place : 0);
  if (swing && first && *first != swing->least) std::swap(low, high);
  return "--levels " + std::string(low) + "," + std::string(high);
}

std::string radix_option(const ColumnAppearance& seen) {
  if (seen.least_radix == 2) {
    return seen.unknown_digits ? "--radix 2 or 16" : "--radix 2, 10 or 16";
  }
  if (seen.unknown_digits) return "--radix 16";
  return seen.least_radix == 10 ? "--radix 10 or 16" : "--radix 16";
}

ColumnAppearance look_at_column(
    const FirstCells& column, char mark,
    const std::optional<std::pair<std::string, std::string>>& stated) {
  const LevelWords own({}, mark);
  const LevelWords told(stated, mark);
  const auto all_are = [&](const LevelWords& words) {
    return std::all_of(
        column.cells.begin(), column.cells.end(),
        [&](const FirstCell& cell) { return words.parse(cell.text); });
  };
  ColumnAppearance seen;
  seen.words = stated && (all_are(told) || !all_are(own)) ? told : own;
  Tally tally;
  std::size_t samples = 0;  // numbers, and those beyond the range
  for (std::size_t i = 0; i < column.cells.size(); ++i) {
    const std::string_view cell = column.cells[i].text;
    if (cell.empty()) continue;
    const bool level = seen.words.parse(cell).has_value();
    if (level) {
      seen.some_levels = true;
    } else if (!seen.first_odd) {
      seen.first_odd = i;
    }
    if (is_unknown(cell)) continue;
    note_value(cell, seen.values);
    ++tally.cells;
    const bool number = is_number(cell, mark);
    tally.numbers += number ? 1u : 0u;
    samples += number || is_infinity(cell) ? 1u : 0u;
    tally.digits += is_digits(cell) ? 1u : 0u;
    const bool gaps = has_unknown_digits(cell);
    const bool hex = gaps || is_hex(cell);
    seen.unknown_digits |= gaps && has_known_digits(cell);
    tally.hex += hex ? 1u : 0u;
    tally.words += hex && !level && has_known_digits(cell) ? 1u : 0u;
    tally.prefixed += word_prefix_radix(cell) ? 1u : 0u;
    seen.leading_zeros |= cell.size() > 1 && cell[0] == '0' && is_digits(cell);
    seen.least_radix = std::max(seen.least_radix, least_radix(cell));
  }
  seen.look = look_of(tally, seen);
  seen.mostly_numbers = 2 * samples > tally.cells;
  return seen;
}

Error refuse_look(const FirstCells& column, const ColumnAppearance& seen,
                  char mark) {
  const std::string_view cell = column.cells[*seen.first_odd].text;
  Error error{ErrorCode::kBadData, "found " + shown_text(cell) +
                                       " in the column " +
                                       shown_text(column.name) + ", expected " +
                                       seen.words.expected()};
  switch (seen.look) {
    case ColumnLook::kPair:
      error.hint = pair_hint(column, seen, mark);
      break;
    case ColumnLook::kNumbers:
      error.hint = voltage_hint(column, mark);
      break;
    case ColumnLook::kIntegers: {
      const bool words = seen.leading_zeros || seen.least_radix != 10;
      const std::string volts = words ? "" : voltage_hint(column, mark);
      error.hint = "if it holds words, say their base with " +
                   radix_option(seen) + " and a bit with " +
                   bit_option(column) + (volts.empty() ? "" : "; " + volts);
      break;
    }
    case ColumnLook::kWords:
      error.hint = "name a bit of the word with " + bit_option(column);
      break;
    case ColumnLook::kLevels:
    case ColumnLook::kText:
      error.hint = level_hint_for(cell, mark);
      break;
  }
  error.hint += "; or name other columns with --channel";
  return error;
}

}  // namespace clockassay
