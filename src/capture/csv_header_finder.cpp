// SPDX-License-Identifier: GPL-3.0-or-later
#include "capture/csv_header_finder.h"

#include <algorithm>
#include <string>

#include "capture/csv_header.h"
#include "capture/csv_levels.h"
#include "capture/csv_split.h"
#include "capture/stated_sample_rate.h"

namespace clockassay {
namespace {

// Rows that must look alike to be taken for the first ones, where no header
// says so. Chosen: keys and values rarely make as many in a row.
constexpr std::size_t kAlike = 3;

std::vector<std::string> plain(const std::vector<std::string_view>& row) {
  std::vector<std::string> names;
  for (const auto cell : row) names.push_back(plain_cell(cell));
  return names;
}

bool states_a_rate(std::string_view line) {
  const auto rate = stated_sample_rate(line);
  return !rate || rate->has_value();
}

}  // namespace

std::optional<HeaderPlace> HeaderFinder::find() const {
  for (const bool strict : {true, false}) {
    for (std::size_t i = 0; i < lines_.size(); ++i) {
      const auto time = time_cell(i);
      if (!time) continue;
      HeaderPlace found{i, i + 1, true, is_unit_row(i + 1, *time),
                        "names the time"};
      if (found.has_units) ++found.first_row;
      if (!strict || is_number(found.first_row, *time)) return found;
    }
  }
  return before_the_rows();
}

std::vector<std::string_view> HeaderFinder::cells(std::size_t i) const {
  std::vector<std::string_view> cells;
  const CellFault fault = split_cells(lines_[i].text, separator_, cells);
  if (fault != CellFault::kNone) cells.clear();
  return cells;
}

// The cell of line `i` that names the time, if the line may be a header.
std::optional<std::size_t> HeaderFinder::time_cell(std::size_t i) const {
  const auto row = cells(i);
  const std::string& stated = options_.csv.time_column;
  if (!stated.empty()) {
    if (stated.find_first_not_of("0123456789") == std::string::npos ||
        stated == "none") {
      return std::nullopt;
    }
    return stated_time_column(plain(row), row.size(), stated);
  }
  const bool lone = row.size() == 1;
  for (const ColumnMeaning meaning :
       {ColumnMeaning::kTime, ColumnMeaning::kStep, ColumnMeaning::kRising,
        ColumnMeaning::kEdges, ColumnMeaning::kSampleCount}) {
    const bool edges =
        meaning == ColumnMeaning::kRising || meaning == ColumnMeaning::kEdges;
    if (edges && !lone) continue;
    for (std::size_t k = 0; k < row.size(); ++k) {
      if (column_name(plain_cell(row[k])).meaning == meaning) return k;
    }
  }
  return std::nullopt;
}

bool HeaderFinder::is_number(std::size_t i, std::size_t column) const {
  if (i >= lines_.size()) return false;
  const auto row = cells(i);
  return column < row.size() && is_number_cell(row[column]);
}

bool HeaderFinder::is_unit_row(std::size_t i, std::size_t column) const {
  if (i >= lines_.size()) return false;
  const auto row = cells(i);
  if (column >= row.size()) return false;
  std::string_view unit = row[column];
  if (unit.starts_with('(') || unit.starts_with('[')) unit.remove_prefix(1);
  if (unit.ends_with(')') || unit.ends_with(']')) unit.remove_suffix(1);
  return time_unit_exponent(trim_cell(unit)).has_value();
}

// Whether line `i` may be a row: the stated time column is a number, or some
// cell is.
bool HeaderFinder::may_be_row(std::size_t i, std::size_t columns,
                              RowsOf rows) const {
  const auto row = cells(i);
  if (row.size() != columns) return false;
  const std::string& stated = options_.csv.time_column;
  if (rows == RowsOf::kLevels) return is_row_of_levels(row);
  if (stated.empty() || stated == "none") {
    return std::any_of(row.begin(), row.end(), is_number_cell);
  }
  const auto time = stated_time_column({}, row.size(), stated);
  return time && is_number_cell(row[*time]);
}

// Where no cell of the file is a number, rows are told by their levels.
bool HeaderFinder::is_row_of_levels(
    const std::vector<std::string_view>& row) const {
  const LevelWords own;
  const LevelWords told(options_.csv.levels, '.');
  return std::any_of(row.begin(), row.end(), [&](std::string_view cell) {
    return !cell.empty() && (own.parse(cell) || told.parse(cell));
  });
}

std::optional<std::size_t> HeaderFinder::first_of_alike_rows(
    RowsOf rows) const {
  for (std::size_t i = 0; i < lines_.size(); ++i) {
    const std::size_t columns = cells(i).size();
    bool alike = columns > 0;
    const std::size_t end = std::min(i + kAlike, lines_.size());
    for (std::size_t k = i; k < end && alike; ++k) {
      alike = may_be_row(k, columns, rows);
    }
    if (alike) return i;
  }
  return std::nullopt;
}

// Whether the line above the first row holds units, and one of names above it.
bool HeaderFinder::has_units_above(std::size_t first) const {
  const std::size_t columns = cells(first).size();
  const auto above = cells(first - 1);
  return above.size() == columns && first > 1 &&
         cells(first - 2).size() == columns &&
         std::any_of(above.begin(), above.end(), [](std::string_view cell) {
           return time_unit_exponent(cell).has_value();
         });
}

// The header is the line before the first rows that look alike.
std::optional<HeaderPlace> HeaderFinder::before_the_rows() const {
  auto first = first_of_alike_rows(RowsOf::kNumbers);
  if (!first && options_.csv.time_column == "none") {
    first = first_of_alike_rows(RowsOf::kLevels);
  }
  if (!first) return std::nullopt;
  HeaderPlace found{*first, *first, false, false, "there is none"};
  if (*first == 0) return found;
  const bool as_many = cells(*first - 1).size() == cells(*first).size();
  if (states_a_rate(lines_[*first - 1].text) ||
      (!as_many && !options_.csv.time_column.empty())) {
    return found;
  }
  found.has_units = has_units_above(*first);
  found.header = *first - (found.has_units ? 2 : 1);
  found.has_header = true;
  found.because = "stands before the first rows";
  return found;
}

}  // namespace clockassay
