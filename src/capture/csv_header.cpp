// SPDX-License-Identifier: GPL-3.0-or-later
#include "capture/csv_header.h"

#include <algorithm>
#include <cstddef>
#include <iterator>
#include <optional>

#include "capture/csv_cells.h"
#include "capture/shown_text.h"

namespace clockassay {
namespace {

struct TimeUnit {
  std::string_view text;
  int exponent;
};

// Micro is written as u, U+00B5, U+03BC or the Latin-1 byte.
constexpr TimeUnit kTimeUnits[] = {
    {"s", 0},          {"ms", -3},        {"us", -6},
    {"\xC2\xB5s", -6}, {"\xCE\xBCs", -6}, {"\xB5s", -6},
    {"ns", -9},        {"ps", -12},       {"fs", -15},
};

constexpr std::string_view kTimeNames[] = {"time", "times", "t", "timestamp",
                                           "timestamps"};
constexpr std::string_view kRisingNames[] = {"rising", "risingedge",
                                             "risingedges"};
constexpr std::string_view kEdgeNames[] = {"edge", "edges", "edgetime",
                                           "edgetimes"};

constexpr const char* kUnitHint =
    "name it time_s, time_ms, time_us, time_ns or time_ps, whichever is meant";
constexpr const char* kLoneHint =
    "name the column rising_s if every row is one rising edge; if rises and "
    "falls follow each other, add a column with the level after each";

// A name and the unit written with it.
struct NameAndUnit {
  std::string name;  // lower case, letters and digits only
  std::optional<int> exponent;
};

std::string plain_name(std::string_view text) {
  std::string name;
  for (char c : text) {
    if (c >= 'A' && c <= 'Z') c = static_cast<char>(c - 'A' + 'a');
    if (c != ' ' && c != '_' && c != '-') name += c;
  }
  return name;
}

std::optional<int> unit_exponent(std::string_view text) {
  for (const TimeUnit& unit : kTimeUnits) {
    if (unit.text == trim_cell(text)) return unit.exponent;
  }
  return std::nullopt;
}

NameAndUnit split_unit(std::string_view cell) {
  std::size_t open = std::string_view::npos;
  std::size_t close = cell.size();
  if (cell.ends_with(')') || cell.ends_with(']')) {
    open = cell.rfind(cell.back() == ')' ? '(' : '[');
    --close;
  } else {
    open = cell.find_last_of("/_");
  }
  if (open != std::string_view::npos) {
    const auto exponent =
        unit_exponent(cell.substr(open + 1, close - open - 1));
    if (exponent) return {plain_name(cell.substr(0, open)), exponent};
  }
  return {plain_name(cell), std::nullopt};
}

template <class Names>
bool is_one_of(const std::string& name, const Names& names) {
  return std::find(std::begin(names), std::end(names), name) != std::end(names);
}

tl::unexpected<Error> refuse(std::string message, std::string hint) {
  return failure(ErrorCode::kBadData, std::move(message), std::move(hint));
}

bool is_number(std::string_view cell) {
  return parse_stamp(cell, '.') || parse_stamp(cell, ',');
}

// The first column is no time with a unit: says what it is instead.
tl::unexpected<Error> refuse_first(std::string_view line,
                                   const std::vector<std::string>& cells,
                                   const NameAndUnit& first) {
  if (is_number(cells[0])) {
    return refuse("found " + shown_text(line) +
                      " where the header row should be, expected the names of "
                      "the columns, with the unit of time",
                  "add a first line such as time_s,clk");
  }
  const bool is_time =
      is_one_of(first.name, kTimeNames) || is_one_of(first.name, kRisingNames);
  if (is_time && !first.exponent) {
    return refuse("found the column name " + shown_text(cells[0]) +
                      ", expected the unit of time with it",
                  kUnitHint);
  }
  for (std::size_t i = 1; i < cells.size(); ++i) {
    const NameAndUnit other = split_unit(cells[i]);
    if (is_one_of(other.name, kTimeNames)) {
      return refuse("found the time in column " + std::to_string(i + 1) +
                        ", expected it in the first column",
                    "put the time first");
    }
  }
  return refuse("found " + shown_text(cells[0]) +
                    " as the name of the first column, expected the time with "
                    "its unit, such as time_s",
                "rename the column if it is the time since a fixed instant; "
                "other kinds of rows are not read");
}

Result<CsvColumns> lone_column(const std::string& cell,
                               const NameAndUnit& first, CsvColumns columns) {
  if (!is_one_of(first.name, kRisingNames)) {
    return refuse("found only the column " + shown_text(cell) +
                      ", which does not say which edges its times are",
                  kLoneHint);
  }
  columns.rising_only = true;
  columns.levels = {"rising"};
  return columns;
}

}  // namespace

Result<CsvColumns> read_csv_columns(std::string_view line, char separator) {
  auto split = split_header(line, separator);
  if (!split) return tl::unexpected<Error>(split.error());
  std::vector<std::string>& cells = *split;
  CsvColumns columns;
  if (cells.size() > 1 && cells.back().empty()) {
    columns.trailing_separator = true;
    cells.pop_back();
  }
  const NameAndUnit first = split_unit(cells[0]);
  const bool lone = cells.size() == 1;
  const bool named = is_one_of(first.name, kTimeNames) ||
                     (lone && (is_one_of(first.name, kRisingNames) ||
                               is_one_of(first.name, kEdgeNames)));
  if (!named || !first.exponent) return refuse_first(line, cells, first);
  columns.unit_exponent = *first.exponent;
  if (lone) return lone_column(cells[0], first, std::move(columns));
  for (std::size_t i = 1; i < cells.size(); ++i) {
    if (cells[i].empty()) {
      return refuse("found no name for column " + std::to_string(i + 1) +
                        ", expected one for every column",
                    "name every column in the header row");
    }
    if (is_one_of(split_unit(cells[i]).name, kTimeNames)) {
      return refuse("found a second time in column " + std::to_string(i + 1) +
                        ", expected one time for all channels",
                    "files with a time column per channel are not read");
    }
    columns.levels.push_back(std::move(cells[i]));
  }
  return columns;
}

}  // namespace clockassay
