// SPDX-License-Identifier: GPL-3.0-or-later
#include "clockassay/drift/series_table.h"

#include <algorithm>
#include <cmath>
#include <filesystem>
#include <map>
#include <string>
#include <utility>

#include "capture/shown_text.h"
#include "clockassay/base/decimal_text.h"
#include "drift/named_table.h"
#include "drift/temperature_cell.h"

namespace clockassay {
namespace {

constexpr std::string_view kNames[] = {
    "capture",         "frequency_hz", "u_hz",  "temperature_c",
    "u_temperature_c", "time_s",       "board", "sweep"};

constexpr TableKind kSeries{
    "a series", kNames, "capture,temperature_c",
    "a capture itself is no series: give the temperatures beside it with "
    "--temperature-log FILE, or name it in the column capture"};

using Failure = std::optional<tl::unexpected<Error>>;

Failure read_positive(const NamedTable& table, const TableRow& row,
                      std::string_view name, const char* expected,
                      const char* hint, std::optional<double>& value) {
  const auto read = number_in(table, row, name, expected);
  if (!read) return tl::unexpected<Error>(read.error());
  value = *read;
  if (!value || *value > 0.0) return std::nullopt;
  return refuse_cell(row, name, shown_text(row.cells[column_of(table, name)]),
                     expected, hint);
}

Failure read_what(const NamedTable& table, const TableRow& row,
                  SeriesRow& read) {
  if (has_cell(table, row, "capture")) {
    read.capture = row.cells[column_of(table, "capture")];
  }
  if (Failure f = read_positive(
          table, row, "frequency_hz", "a frequency in hertz above zero",
          "a clock that stood still has no frequency: name its "
          "capture instead",
          read.frequency_hz)) {
    return f;
  }
  if (Failure f = read_positive(
          table, row, "u_hz", "a standard uncertainty in hertz above zero",
          "leave the column out where it is not known: then the "
          "scatter about the curve is used",
          read.u_hz)) {
    return f;
  }
  if (read.frequency_hz) {
    const auto digits = scan_decimal<std::uint64_t>(
        row.cells[column_of(table, "frequency_hz")], table.decimal_mark);
    read.resolution_hz = std::pow(10.0, digits->last_place);
  }
  if (read.capture.has_value() == read.frequency_hz.has_value()) {
    return refuse_cell(row, "capture",
                       read.capture ? "a capture and a frequency_hz"
                                    : "neither a capture nor a frequency_hz",
                       "one of the two in each row",
                       "a capture tells its frequency itself");
  }
  if (read.capture && read.u_hz) {
    return refuse_cell(row, "u_hz", "an uncertainty beside a capture",
                       "none there",
                       "a capture tells its uncertainty itself: leave the cell "
                       "empty");
  }
  return std::nullopt;
}

Failure read_sweep(const NamedTable& table, const TableRow& row,
                   SeriesRow& read) {
  const std::string& cell = row.cells[column_of(table, "sweep")];
  if (cell.empty()) return std::nullopt;
  if (cell == "up" || cell == "down") {
    read.sweep = cell == "up" ? Sweep::kUp : Sweep::kDown;
    return std::nullopt;
  }
  return refuse_cell(row, "sweep", shown_text(cell), "up, down or nothing",
                     "the way the temperature was going");
}

Result<SeriesRow> read_row(const NamedTable& table, const TableRow& row) {
  SeriesRow read;
  read.line = row.line;
  if (Failure f = read_what(table, row, read)) return *f;
  const auto at = temperature_in(table, row);
  if (!at) return tl::unexpected<Error>(at.error());
  read.temperature_c = at->celsius;
  read.u_temperature_c = at->u;
  const auto time = number_in(table, row, "time_s", "a time in seconds");
  if (!time) return tl::unexpected<Error>(time.error());
  read.time_s = *time;
  read.board = row.cells[column_of(table, "board")];
  if (Failure f = read_sweep(table, row, read)) return *f;
  return read;
}

tl::unexpected<Error> refuse_pair(std::int64_t line, std::string message,
                                  std::string hint) {
  Error error{ErrorCode::kBadData, std::move(message), std::move(hint)};
  error.line = line;
  return tl::unexpected<Error>(std::move(error));
}

// What no row shows by itself.
Failure refuse_together(const std::vector<SeriesRow>& rows) {
  std::map<std::string, std::int64_t> captures;
  std::map<std::string, const SeriesRow*> first_of_board;
  for (const SeriesRow& row : rows) {
    if (row.capture) {
      const auto [at, is_new] = captures.emplace(
          std::filesystem::path(*row.capture).lexically_normal().string(),
          row.line);
      if (is_new) continue;
      return refuse_pair(row.line,
                         "column capture: found " + shown_text(*row.capture) +
                             ", which line " + std::to_string(at->second) +
                             " names too; expected each capture once",
                         "one capture is one point, however often it is read");
    }
    const auto [at, is_new] = first_of_board.emplace(row.board, &row);
    const SeriesRow& first = *at->second;
    if (is_new || first.u_hz.has_value() == row.u_hz.has_value()) continue;
    return refuse_pair(row.line,
                       std::string("column u_hz: found ") +
                           (row.u_hz ? "an uncertainty" : "nothing") +
                           ", expected it of all frequencies of a board or of "
                           "none, as in line " +
                           std::to_string(first.line),
                       "state u_hz in every row, or leave the column out");
  }
  return std::nullopt;
}

Failure refuse_columns(const NamedTable& table) {
  const auto has = [&](std::string_view name) {
    return table.has[column_of(table, name)];
  };
  std::string lacking;
  if (!has("temperature_c")) lacking = "temperature_c";
  if (!has("capture") && !has("frequency_hz")) {
    lacking += lacking.empty() ? "" : ", and no ";
    lacking += "capture or frequency_hz";
  }
  if (lacking.empty()) return std::nullopt;
  return refuse_pair(table.header_line,
                     "found no column " + lacking + ", expected it in a series",
                     "a header row such as capture,temperature_c names the "
                     "columns");
}

}  // namespace

Result<std::vector<SeriesRow>> read_series(std::string_view text) {
  const auto table = read_named_table(text, kSeries);
  if (!table) return tl::unexpected<Error>(table.error());
  if (Failure f = refuse_columns(*table)) return *f;
  if (table->rows.size() > kMostPoints) {
    return refuse_pair(table->rows[kMostPoints].line,
                       "found more than " + std::to_string(kMostPoints) +
                           " rows, expected no more",
                       "take means, or every other row");
  }
  std::vector<SeriesRow> rows;
  for (const TableRow& row : table->rows) {
    auto read = read_row(*table, row);
    if (!read) return tl::unexpected<Error>(read.error());
    rows.push_back(*std::move(read));
  }
  if (Failure f = refuse_together(rows)) return *f;
  return rows;
}

}  // namespace clockassay
