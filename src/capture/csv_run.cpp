// SPDX-License-Identifier: GPL-3.0-or-later
#include "capture/csv_run.h"

#include <algorithm>
#include <utility>

#include "base/ascii_digit.h"
#include "capture/csv_cells.h"

namespace clockassay {
namespace {

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

/// Whether 0 and 1 in a column are levels that are delivered.
bool is_level_column(const ValueColumn& column) {
  return column.kind == ValueKind::kLevels && !column.targets.empty() &&
         column.words.parse("0") == CellLevel::kLow &&
         column.words.parse("1") == CellLevel::kHigh;
}

/// Whether each row says for itself at which time it is what of all columns.
bool rows_stand_alone(const CsvLayout& csv) {
  return !csv.is_stateful() && !csv.columns.lone && !csv.columns.event_level &&
         csv.columns.time.has_value();
}

/// The cells of a row that are 0 or 1, and may be the other in the next: levels
/// that are delivered, and columns that are not read. Places are counted from
/// byte `from` of the row on.
std::vector<CsvTurning> turning_places(const CsvLayout& csv,
                                       const CsvRowRead& row,
                                       std::size_t from) {
  std::vector<CsvTurning> places;
  for (std::size_t i = 0; i < csv.columns.values.size(); ++i) {
    const std::string_view cell = row.cells[csv.columns.values[i]];
    const ValueColumn& column = csv.values[i];
    if (cell != "0" && cell != "1") continue;
    if (!column.targets.empty() && !is_level_column(column)) continue;
    places.push_back({place_in(row.record, cell) - from, i, cell == "1"});
  }
  return places;
}

bool is_read(const CsvLayout& csv, const CsvTurning& turns) {
  return !csv.values[turns.column].targets.empty();
}

}  // namespace

std::optional<CsvRun> csv_run_after(const CsvLayout& csv, const CsvRowRead& row,
                                    std::string_view rest) {
  const std::string_view record = row.record;
  if (record.size() > RecordShape::kLongest || rest.size() < record.size() ||
      !rows_stand_alone(csv) || csv.row_step) {
    return std::nullopt;
  }
  const auto digits = time_digits(csv, record, row.cells[*csv.columns.time]);
  const auto turning = turning_column(csv, row, rest.substr(0, record.size()));
  if (!digits || !turning) return std::nullopt;
  const auto ticks = ticks_per_unit(record, *digits, row.time);
  const ValueColumn& column = csv.values[*turning];
  const std::string_view cell = row.cells[csv.columns.values[*turning]];
  if (!ticks || !is_level_column(column) || (cell != "0" && cell != "1")) {
    return std::nullopt;
  }
  return CsvRun{RecordShape(record, *digits, place_in(record, cell)), *ticks,
                *turning, cell == "1" ? Level::kHigh : Level::kLow};
}

std::optional<CsvScanRows> csv_scan_like(const CsvLayout& csv,
                                         const CsvRowRead& row) {
  if (!rows_stand_alone(csv) || !csv.columns.unit_exponent) return std::nullopt;
  const std::string_view time = row.cells[*csv.columns.time];
  const int decimals = *csv.columns.unit_exponent - csv.tick_exponent;
  const std::size_t rest_size = row.record.size() - time.size();
  // A quote or a blank before the time would be a part of it.
  if (place_in(row.record, time) != 0 || decimals < 0 ||
      decimals >= static_cast<int>(CsvScanShape::kTimeBytes) ||
      rest_size > CsvScanShape::kMostRest ||
      row.record.back() != csv.line_end) {
    return std::nullopt;
  }
  CsvScanRows rows;
  std::uint64_t turning = 0;
  const auto places = turning_places(csv, row, time.size());
  for (const CsvTurning& turns : places) {
    turning |= std::uint64_t{1} << turns.place;
  }
  rows.shape =
      CsvScanShape(row.record.substr(time.size()), turning, csv.decimal_mark,
                   static_cast<std::size_t>(decimals));
  for (const CsvTurning& turns : places) {
    const std::uint64_t bit = rows.shape.level_bit(turns.place);
    if (turns.high) rows.levels |= bit;
    if (is_read(csv, turns)) rows.turning.push_back({bit, turns.column});
  }
  return rows;
}

std::optional<CsvSampleRows> csv_samples_like(const CsvLayout& csv,
                                              const CsvRowRead& row) {
  if (csv.columns.base != CsvTimeBase::kRowNumber || csv.columns.time ||
      csv.columns.lone || csv.columns.event_level || csv.row_step ||
      has_analogue(csv.values) || row.record.size() > CsvSampleScan::kLongest ||
      row.record.back() != csv.line_end) {
    return std::nullopt;
  }
  CsvSampleRows rows;
  std::uint64_t turning = 0, read = 0;
  for (const CsvTurning& turns : turning_places(csv, row, 0)) {
    const std::uint64_t bit = std::uint64_t{1} << turns.place;
    turning |= bit;
    if (!is_read(csv, turns)) continue;
    read |= bit;
    rows.read.push_back(turns);
  }
  rows.scan = std::make_unique<CsvSampleScan>(row.record, turning, read);
  return rows;
}

CsvSteps csv_scan_steps(const CsvLayout& csv) {
  if (!csv.row_step) return {};
  return {std::max<std::int64_t>(1, csv.row_step->least_of_one()),
          csv.row_step->most_of_one()};
}

}  // namespace clockassay
