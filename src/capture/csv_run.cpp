// SPDX-License-Identifier: GPL-3.0-or-later
#include "capture/csv_run.h"

#include "capture/csv_cells.h"

namespace clockassay {
namespace {

bool is_digit(char c) {
  return c >= '0' && c <= '9';
}

std::size_t place_in(std::string_view record, std::string_view cell) {
  return static_cast<std::size_t>(cell.data() - record.data());
}

/// Where the digits of the time are, if they are all of a plain number.
std::optional<std::uint32_t> time_digits(const CsvLayout& csv,
                                         std::string_view record,
                                         std::string_view cell) {
  std::uint32_t digits = 0;
  bool has_mark = false, ended = false;
  for (std::size_t i = 0; i < cell.size(); ++i) {
    const std::size_t at = place_in(record, cell) + i;
    if (is_digit(cell[i])) {
      // Behind a unit or an exponent they mean something else.
      if (ended || at >= RecordShape::kDigitBytes) return std::nullopt;
      digits |= std::uint32_t{1} << at;
    } else if (cell[i] == csv.decimal_mark && !has_mark && !ended) {
      has_mark = true;
    } else {
      ended = true;
    }
  }
  return digits == 0 ? std::nullopt : std::optional(digits);
}

/// Ticks of a unit of these digits, by the row whose time is known.
std::optional<std::int64_t> ticks_per_unit(std::string_view record,
                                           std::uint32_t digits, Ticks time) {
  std::int64_t number = 0;
  for (std::size_t i = 0; i < RecordShape::kDigitBytes; ++i) {
    if ((digits >> i & 1) != 0) number = 10 * number + (record[i] - '0');
  }
  if (number <= 0 || time.count() % number != 0) return std::nullopt;
  const std::int64_t ticks = time.count() / number;
  std::int64_t power = 1;
  while (power < ticks) power *= 10;
  return power == ticks ? std::optional(ticks) : std::nullopt;
}

/// The one column that turns from this row to the next.
std::optional<std::size_t> turning_column(const CsvLayout& csv,
                                          const CsvRowRead& row,
                                          std::string_view next) {
  std::optional<std::size_t> turning;
  for (std::size_t i = 0; i < csv.columns.values.size(); ++i) {
    const std::string_view cell = row.cells[csv.columns.values[i]];
    if (next.substr(place_in(row.record, cell), cell.size()) == cell) continue;
    if (turning) return std::nullopt;
    turning = i;
  }
  return turning;
}

}  // namespace

std::optional<CsvRun> csv_run_after(const CsvLayout& csv, const CsvRowRead& row,
                                    std::string_view rest) {
  const std::string_view record = row.record;
  if (record.size() > RecordShape::kLongest || rest.size() < record.size() ||
      csv.is_stateful() || csv.row_step || csv.columns.lone ||
      csv.columns.event_level || !csv.columns.time) {
    return std::nullopt;
  }
  const auto digits = time_digits(csv, record, row.cells[*csv.columns.time]);
  const auto turning = turning_column(csv, row, rest.substr(0, record.size()));
  if (!digits || !turning) return std::nullopt;
  const auto ticks = ticks_per_unit(record, *digits, row.time);
  const ValueColumn& column = csv.values[*turning];
  const std::string_view cell = row.cells[csv.columns.values[*turning]];
  const bool is_level = column.kind == ValueKind::kLevels &&
                        !column.targets.empty() && cell.size() == 1 &&
                        column.words.parse("0") == CellLevel::kLow &&
                        column.words.parse("1") == CellLevel::kHigh;
  if (!ticks || !is_level || (cell != "0" && cell != "1")) return std::nullopt;
  return CsvRun{RecordShape(record, *digits, place_in(record, cell)), *ticks,
                *turning, cell == "1" ? Level::kHigh : Level::kLow};
}

}  // namespace clockassay
