// SPDX-License-Identifier: GPL-3.0-or-later
#include "capture/csv_cells.h"

#include <algorithm>
#include <array>
#include <iterator>
#include <utility>

#include "base/ascii_digit.h"
#include "capture/shown_text.h"
#include "clockassay/base/letter_case.h"

namespace clockassay {
namespace {

// Significant digits of a stamp. A uint64 holds as many nines, and Ticks no
// number with more.
constexpr int kMostDigits = 19;

// Powers of ten a uint64 holds.
constexpr int kMostPower = 19;

constexpr std::array<std::uint64_t, kMostPower + 1> make_powers() {
  std::array<std::uint64_t, kMostPower + 1> powers{1};
  for (std::size_t i = 1; i < powers.size(); ++i) {
    powers[i] = powers[i - 1] * 10;
  }
  return powers;
}
constexpr auto kPowers = make_powers();

struct TimeUnit {
  std::string_view text;
  int exponent;
};

// Micro is written as u, U+00B5, U+03BC or the Latin-1 byte. In lower case
// only: M is mega, S siemens.
constexpr TimeUnit kTimeUnits[] = {
    {"s", 0},          {"ms", -3},        {"us", -6},
    {"\xC2\xB5s", -6}, {"\xCE\xBCs", -6}, {"\xB5s", -6},
    {"ns", -9},        {"ps", -12},       {"fs", -15},
};

// In any case.
constexpr TimeUnit kTimeWords[] = {
    {"sec", 0},           {"secs", 0},          {"second", 0},
    {"seconds", 0},       {"msec", -3},         {"millisecond", -3},
    {"milliseconds", -3}, {"usec", -6},         {"microsecond", -6},
    {"microseconds", -6}, {"nsec", -9},         {"nanosecond", -9},
    {"nanoseconds", -9},  {"psec", -12},        {"picosecond", -12},
    {"picoseconds", -12}, {"femtosecond", -15}, {"femtoseconds", -15},
};

// Of other writing systems, as UTF-8.
constexpr std::pair<std::string_view, std::string_view> kUnicodeMinus[] = {
    {"\xE2\x88\x92", "the character U+2212"},
    {"\xE2\x80\x93", "the dash U+2013"},
};
constexpr std::pair<std::string_view, std::string_view> kUnicodeBlanks[] = {
    {"\xC2\xA0", "the no-break space U+00A0"},
    {"\xE2\x80\xAF", "the narrow no-break space U+202F"},
    {"\xE2\x80\x89", "the thin space U+2009"},
};

// "0.7u": a number and the prefix of a unit, but no unit.
bool lacks_unit_letter(std::string_view cell) {
  const std::size_t last = cell.find_last_of("0123456789.,");
  if (last == std::string_view::npos || last + 1 == cell.size()) return false;
  const std::string_view prefix = trim_cell(cell.substr(last + 1));
  return time_unit_exponent(std::string(prefix) + "s").has_value() &&
         prefix != "" && cell.find_first_not_of("0123456789.,+-eE") > last;
}

bool contains_ignoring_case(std::string_view text, std::string_view word) {
  return std::search(text.begin(), text.end(), word.begin(), word.end(),
                     [](char a, char b) { return lower_letter(a) == b; }) !=
         text.end();
}

}  // namespace

std::string_view trim_cell(std::string_view cell) {
  const auto is_blank = [](char c) { return c == ' ' || c == '\t'; };
  while (!cell.empty() && is_blank(cell.front())) cell.remove_prefix(1);
  while (!cell.empty() && is_blank(cell.back())) cell.remove_suffix(1);
  return cell;
}

CsvLine line_at(std::string_view bytes, std::size_t at, char line_end) {
  const std::size_t end = bytes.find(line_end, at);
  CsvLine line;
  line.begin = at;
  line.ended = end != std::string_view::npos;
  line.next = line.ended ? end + 1 : bytes.size();
  line.text = bytes.substr(at, line.ended ? end - at : end);
  if (line_end == '\n' && !line.text.empty() && line.text.back() == '\r') {
    line.text.remove_suffix(1);
  }
  return line;
}

bool is_blank_or_comment(std::string_view line) {
  const std::string_view text = trim_cell(line);
  return text.empty() || text[0] == '#' || text.starts_with("//");
}

std::optional<StampText> parse_stamp(std::string_view cell, char mark) {
  auto stamp = scan_decimal<std::uint64_t>(cell, mark);
  if (stamp && stamp->count > kMostDigits) return std::nullopt;
  return stamp;
}

std::optional<int> time_unit_exponent(std::string_view text) {
  const auto* symbol =
      std::find_if(std::begin(kTimeUnits), std::end(kTimeUnits),
                   [text](const TimeUnit& u) { return u.text == text; });
  if (symbol != std::end(kTimeUnits)) return symbol->exponent;
  const auto* word = std::find_if(
      std::begin(kTimeWords), std::end(kTimeWords),
      [text](const TimeUnit& u) { return equals_ignoring_case(text, u.text); });
  if (word != std::end(kTimeWords)) return word->exponent;
  return std::nullopt;
}

std::optional<CellTime> parse_time_cell(std::string_view cell, char mark,
                                        std::optional<int> unit) {
  if (const auto stamp = parse_stamp(cell, mark)) {
    if (!unit && stamp->digits != 0) return std::nullopt;
    return CellTime{*stamp, unit.value_or(0)};
  }
  const std::size_t last = cell.find_last_of("0123456789.,");
  if (last == std::string_view::npos) return std::nullopt;
  const auto own = time_unit_exponent(trim_cell(cell.substr(last + 1)));
  if (!own) return std::nullopt;
  const auto stamp = parse_stamp(cell.substr(0, last + 1), mark);
  if (!stamp) return std::nullopt;
  return CellTime{*stamp, *own};
}

bool is_number_cell(std::string_view cell) {
  return parse_time_cell(cell, '.', 0) || parse_time_cell(cell, ',', 0);
}

std::optional<std::int64_t> stamp_ticks(const StampText& stamp, int exponent) {
  if (stamp.digits == 0) return 0;
  const int power = stamp.last_nonzero_place() - exponent;
  if (power < 0 || power > kMostPower) return std::nullopt;
  std::uint64_t ticks = 0;
  if (__builtin_mul_overflow(
          stamp.digits, kPowers[static_cast<std::size_t>(power)], &ticks) ||
      ticks > static_cast<std::uint64_t>(kMostTicks)) {
    return std::nullopt;
  }
  const auto magnitude = static_cast<std::int64_t>(ticks);
  return stamp.negative ? -magnitude : magnitude;
}

std::string number_hint(std::string_view cell) {
  for (const auto& [bytes, name] : kUnicodeMinus) {
    if (cell.find(bytes) == std::string_view::npos) continue;
    return "the minus sign is " + std::string(name) + "; write it as -";
  }
  for (const auto& [bytes, name] : kUnicodeBlanks) {
    if (cell.find(bytes) == std::string_view::npos) continue;
    return "the blank in the number is " + std::string(name) +
           "; write the digits without grouping them";
  }
  if (cell.find('_') != std::string_view::npos) {
    return "write the digits without grouping them";
  }
  const std::size_t letter = cell.find_first_not_of("0123456789.,+-");
  if (letter == std::string_view::npos || letter == 0 ||
      !is_digit(cell.back())) {
    return {};
  }
  const std::string_view rest = cell.substr(letter);
  const bool other_exponent =
      (lower_letter(rest[0]) == 'd' &&
       rest.find_first_not_of("0123456789+-", 1) == std::string_view::npos) ||
      rest.find("10^") != std::string_view::npos;
  if (!other_exponent) return {};
  return "write the power of ten with e, as in 5.4e-07";
}

std::string stamp_hint(std::string_view cell) {
  if (cell.empty()) return "every row needs its time";
  if (contains_ignoring_case(cell, "0x")) {
    return "hexadecimal times are not read; write them in decimal";
  }
  for (std::string_view word : {"nan", "inf"}) {
    if (contains_ignoring_case(cell, word)) return "delete rows without a time";
  }
  if (std::none_of(cell.begin(), cell.end(), is_digit)) {
    return "delete lines that are no rows, or put # before them";
  }
  if (std::string hint = number_hint(cell); !hint.empty()) return hint;
  if (lacks_unit_letter(cell)) {
    return "found a number with the prefix " +
           shown_text(
               trim_cell(cell.substr(cell.find_last_of("0123456789.,") + 1))) +
           " and no unit behind it; write the unit in full, as in 1 us";
  }
  if (cell.find(':') != std::string_view::npos ||
      cell.find('-', 1) != std::string_view::npos) {
    return "dates and times of day are not read; write seconds since any fixed "
           "instant";
  }
  if (cell.find_first_of(" '") != std::string_view::npos) {
    return "write the digits without grouping them";
  }
  if (std::count_if(cell.begin(), cell.end(), is_digit) > kMostDigits) {
    return "at most 19 significant digits can be held";
  }
  if (cell.find_first_of(",.") != std::string_view::npos) {
    return "the decimal mark must be the same in all rows, and digits are not "
           "grouped";
  }
  if (is_digit(cell[0]) && !is_digit(cell.back())) {
    return "units of time are s, ms, us, ns, ps and fs";
  }
  return "delete lines that are no rows, or put # before them";
}

}  // namespace clockassay
