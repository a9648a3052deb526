// SPDX-License-Identifier: GPL-3.0-or-later
#include "drift/named_table.h"

#include <algorithm>
#include <charconv>
#include <cmath>
#include <utility>

#include "capture/content_check.h"
#include "capture/csv_cells.h"
#include "capture/csv_head.h"
#include "capture/csv_separator.h"
#include "capture/csv_split.h"
#include "capture/shown_text.h"
#include "clockassay/base/decimal_text.h"
#include "clockassay/base/letter_case.h"
#include "clockassay/base/nearest_name.h"

namespace clockassay {
namespace {

tl::unexpected<Error> refuse_line(std::int64_t line, std::string message,
                                  std::string hint) {
  Error error{ErrorCode::kBadData, std::move(message), std::move(hint)};
  error.line = line;
  return tl::unexpected<Error>(std::move(error));
}

struct NumberedLine {
  std::int64_t number = 0;
  std::string_view text;
};

// Those that carry data.
std::vector<NumberedLine> lines_of(std::string_view text) {
  const char line_end = line_end_of(text, true);
  std::vector<NumberedLine> lines;
  std::int64_t number = 0;
  for (std::size_t at = 0; at < text.size();) {
    const CsvLine line = line_at(text, at, line_end);
    ++number;
    if (!is_blank_or_comment(line.text)) lines.push_back({number, line.text});
    at = line.next;
  }
  return lines;
}

std::string header_hint(const TableKind& kind) {
  return "a header row such as " + std::string(kind.example) +
         " names the columns; known are " + joined_names(kind.names);
}

// A column of temperatures in another unit, by its name: it wants more than
// another name.
const char* other_unit(std::string_view cell) {
  std::string name(cell);
  std::transform(name.begin(), name.end(), name.begin(), lower_letter);
  if (name.find("temp") == std::string::npos) return nullptr;
  if (name.ends_with("_f") || name.find("fahrenheit") != std::string::npos) {
    return "fahrenheit";
  }
  if (name.ends_with("_k") || name.find("kelvin") != std::string::npos) {
    return "kelvin";
  }
  return nullptr;
}

// The known name of each column, by its index.
Result<std::vector<std::size_t>> read_header(
    const NumberedLine& line, const std::vector<std::string_view>& cells,
    const TableKind& kind) {
  std::vector<std::size_t> columns;
  const bool none_known =
      std::none_of(cells.begin(), cells.end(), [&](std::string_view cell) {
        return std::find(kind.names.begin(), kind.names.end(), cell) !=
               kind.names.end();
      });
  for (std::size_t i = 0; i < cells.size(); ++i) {
    const auto known =
        std::find(kind.names.begin(), kind.names.end(), cells[i]);
    const std::string place = "column " + std::to_string(i + 1) + ": ";
    if (known == kind.names.end()) {
      const std::string_view near = nearest_name(cells[i], kind.names);
      std::string hint = header_hint(kind);
      if (const char* unit = other_unit(cells[i])) {
        hint = std::string(unit) +
               "? convert it to degrees Celsius, and name the column "
               "temperature_c";
      } else if (!near.empty()) {
        hint.insert(0, "did you mean " + std::string(near) + "? ");
      } else if (none_known) {
        hint += "; " + std::string(kind.hint);
      }
      return refuse_line(line.number,
                         place + "found " + shown_text(cells[i]) +
                             ", expected a column of " + std::string(kind.what),
                         hint);
    }
    const auto index = static_cast<std::size_t>(known - kind.names.begin());
    if (std::find(columns.begin(), columns.end(), index) != columns.end()) {
      return refuse_line(line.number,
                         place + "found " + shown_text(cells[i]) +
                             " twice, expected each name once",
                         "rename or delete one of the two");
    }
    columns.push_back(index);
  }
  return columns;
}

// A decimal comma in any number makes it that of all.
bool has_decimal_comma(std::string_view cell) {
  return cell.find(',') != std::string_view::npos &&
         scan_decimal<std::uint64_t>(cell, ',').has_value();
}

Result<std::vector<std::string_view>> cells_of(const NumberedLine& line,
                                               char separator) {
  std::vector<std::string_view> cells;
  const CellFault fault = split_cells(line.text, separator, cells);
  if (fault == CellFault::kNone) return cells;
  const Error error = fault_error(fault, cells.back());
  return refuse_line(line.number, error.message, error.hint);
}

Result<void> read_rows(const std::vector<NumberedLine>& lines, char separator,
                       const std::vector<std::string_view>& header,
                       const std::vector<std::size_t>& columns,
                       NamedTable& table) {
  for (const NumberedLine& line : lines) {
    const auto cells = cells_of(line, separator);
    if (!cells) return tl::unexpected<Error>(cells.error());
    if (cells->size() != columns.size()) {
      const bool commas = separator == ',' && cells->size() > columns.size();
      return refuse_line(
          line.number,
          "found " + std::to_string(cells->size()) + " cells, expected " +
              std::to_string(columns.size()) + " as in the header",
          commas ? "decimal commas or commas in a text? put semicolons between "
                   "the columns, or the cell in quotes"
                 : "leave a cell empty where there is nothing to say");
    }
    if (*cells == header) {
      return refuse_line(line.number, "found the header again, expected a row",
                         "delete it: one file is one series; boards are told "
                         "apart in the column board");
    }
    TableRow row{line.number, std::vector<std::string>(table.names.size())};
    for (std::size_t i = 0; i < columns.size(); ++i) {
      row.cells[columns[i]] = plain_cell((*cells)[i]);
      if (separator != ',' && has_decimal_comma((*cells)[i])) {
        table.decimal_mark = ',';
      }
    }
    table.rows.push_back(std::move(row));
  }
  return {};
}

// What is no table at all.
std::optional<Error> refuse_text(std::string_view text, const TableKind& kind) {
  const std::string_view bare = without_byte_order_mark(text);
  const std::size_t first = bare.find_first_not_of(" \t\r\n");
  const std::string expected = ", expected " + std::string(kind.what);
  if (first == std::string_view::npos) {
    return Error{ErrorCode::kBadData, "found nothing" + expected,
                 header_hint(kind)};
  }
  if (bare[first] == '{') {
    return Error{ErrorCode::kBadData, "found JSON" + expected + " as CSV",
                 header_hint(kind) +
                     "; a stored result is named in the column "
                     "capture"};
  }
  auto error = refuse_content(text, true);
  if (!error) return std::nullopt;
  const std::string_view twice = "packed twice? ";
  if (error->hint.starts_with(twice)) error->hint.erase(0, twice.size());
  error->message = error->message.substr(0, error->message.find(", expected")) +
                   expected + " as plain text";
  return error;
}

}  // namespace

Result<NamedTable> read_named_table(std::string_view text,
                                    const TableKind& kind) {
  if (auto error = refuse_text(text, kind)) {
    return tl::unexpected<Error>(*std::move(error));
  }
  std::vector<NumberedLine> lines = lines_of(without_byte_order_mark(text));
  std::optional<char> stated;
  if (!lines.empty()) stated = separator_line(lines.front().text);
  if (stated) lines.erase(lines.begin());
  if (lines.empty()) {
    return refuse_line(1, "found no header row", header_hint(kind));
  }
  const char separator = stated.value_or(separator_in(lines.front().text));
  const auto header = cells_of(lines.front(), separator);
  if (!header) return tl::unexpected<Error>(header.error());
  const auto columns = read_header(lines.front(), *header, kind);
  if (!columns) return tl::unexpected<Error>(columns.error());
  NamedTable table;
  table.names.assign(kind.names.begin(), kind.names.end());
  table.has.assign(table.names.size(), false);
  for (const std::size_t column : *columns) table.has[column] = true;
  table.header_line = lines.front().number;
  lines.erase(lines.begin());
  if (lines.empty()) {
    return refuse_line(table.header_line,
                       "found a header and no row of " + std::string(kind.what),
                       "one row is one point");
  }
  if (auto done = read_rows(lines, separator, *header, *columns, table);
      !done) {
    return tl::unexpected<Error>(done.error());
  }
  return table;
}

std::size_t column_of(const NamedTable& table, std::string_view name) {
  return static_cast<std::size_t>(
      std::find(table.names.begin(), table.names.end(), name) -
      table.names.begin());
}

bool has_cell(const NamedTable& table, const TableRow& row,
              std::string_view name) {
  return !row.cells[column_of(table, name)].empty();
}

tl::unexpected<Error> refuse_cell(const TableRow& row, std::string_view column,
                                  const std::string& found,
                                  const std::string& expected,
                                  std::string hint) {
  return refuse_line(row.line,
                     "column " + std::string(column) + ": found " + found +
                         ", expected " + expected,
                     std::move(hint));
}

Result<std::optional<double>> number_in(const NamedTable& table,
                                        const TableRow& row,
                                        std::string_view name,
                                        std::string_view expected) {
  const std::string& cell = row.cells[column_of(table, name)];
  if (cell.empty()) return std::nullopt;
  const std::string shown = shown_text(cell);
  if (!scan_decimal<std::uint64_t>(cell, table.decimal_mark)) {
    const char other = table.decimal_mark == '.' ? ',' : '.';
    std::string hint = number_hint(cell);
    if (scan_decimal<std::uint64_t>(cell, other)) {
      hint = table.decimal_mark == ','
                 ? "other cells have a decimal comma: write all numbers alike"
                 : "write the decimal mark as a point";
    } else if (hint.empty()) {
      hint =
          "a bare decimal number: the name of the column says the unit; "
          "leave the cell empty where it is not known";
    }
    return refuse_cell(row, name, shown, std::string(expected), hint);
  }
  std::string plain = cell;
  std::replace(plain.begin(), plain.end(), ',', '.');
  const char* begin = plain.data() + (plain[0] == '+' ? 1 : 0);
  double value = 0.0;
  const auto read = std::from_chars(begin, plain.data() + plain.size(), value);
  if (read.ec != std::errc{} || !std::isfinite(value)) {
    return refuse_cell(row, name, shown, std::string(expected),
                       "it is beyond what a number here can be");
  }
  return value;
}

}  // namespace clockassay
