// SPDX-License-Identifier: GPL-3.0-or-later
#include "capture/csv_survey.h"

#include <algorithm>
#include <utility>

#include "capture/csv_binary_step.h"
#include "capture/csv_refusal.h"
#include "capture/csv_tick.h"
#include "capture/shown_text.h"
#include "clockassay/capture/stamp_digits.h"

namespace clockassay {
namespace {

// Unquoted, a comma beside comma separators never gets into a cell.
char mark_of(std::string_view cell) {
  const bool comma = cell.find(',') != std::string_view::npos &&
                     cell.find('.') == std::string_view::npos;
  return comma ? ',' : '.';
}

bool has_mark(std::string_view cell) {
  return cell.find_first_of(",.") != std::string_view::npos;
}

// "1,000" but not "0,500": three digits after every comma, and none that
// groups would begin with 0.
bool may_group(std::string_view cell) {
  if (cell.starts_with('+') || cell.starts_with('-')) cell.remove_prefix(1);
  const std::size_t comma = cell.find(',');
  if (comma == 0 || comma > 3 || cell[0] == '0') return false;
  const auto is_digit = [](char c) { return c >= '0' && c <= '9'; };
  if (!std::all_of(cell.begin(), cell.begin() + static_cast<long>(comma),
                   is_digit)) {
    return false;
  }
  return cell.size() == comma + 4 &&
         std::all_of(cell.begin() + static_cast<long>(comma) + 1, cell.end(),
                     is_digit);
}

// The first rows on their way into a survey.
class Gatherer {
 public:
  Gatherer(const CsvLayout& csv, const ReadOptions& options, CsvSurvey& survey)
      : csv_(csv), survey_(survey) {
    if (options.csv.decimal_mark) {
      survey_.decimal_mark = *options.csv.decimal_mark;
      survey_.decimal_because = "--decimal-mark";
      mark_known_ = true;
    }
  }

  // False: the row is left to the parser, and all after it.
  bool take(const CsvLine& line) {
    SurveyRow row;
    row.byte = line.begin;
    if (split_row(line.text, csv_, row.cells) != CellFault::kNone) return false;
    if (row.cells.size() != csv_.columns.cells()) return false;
    if (csv_.columns.time && !take_time(row)) return false;
    survey_.rows.push_back(std::move(row));
    return true;
  }

  // The first row whose comma may group digits, when none shows that it does
  // not and nobody says so.
  std::optional<std::size_t> grouped() const {
    return decided_ ? std::nullopt : grouped_;
  }

 private:
  bool take_time(SurveyRow& row) {
    const std::string_view cell = row.cells[*csv_.columns.time];
    if (!mark_known_) {
      survey_.decimal_mark = mark_of(cell);
      if (has_mark(cell)) {
        mark_known_ = true;
        survey_.decimal_because = "in the times";
      }
    }
    if (survey_.decimal_because == "--decimal-mark") decided_ = true;
    if (survey_.decimal_mark == ',' && has_mark(cell)) {
      if (!may_group(cell)) decided_ = true;
      if (!grouped_) grouped_ = row.byte;
    }
    const char mark = survey_.decimal_mark;
    const auto time = parse_time_cell(cell, mark, csv_.columns.unit_exponent);
    if (!time) return false;
    row.time = *time;
    row.has_exponent =
        cell.find_last_not_of("0123456789+-.,") != std::string_view::npos;
    const std::size_t at = cell.find(mark);
    row.decimals = at == std::string_view::npos
                       ? 0
                       : static_cast<int>(cell.size() - at - 1);
    return true;
  }

  const CsvLayout& csv_;
  CsvSurvey& survey_;
  bool mark_known_ = false;
  bool decided_ = false;
  std::optional<std::size_t> grouped_;
};

std::optional<int> common_decimals(const std::vector<SurveyRow>& rows) {
  const auto differs = [&](const SurveyRow& row) {
    return row.has_exponent || row.decimals != rows[0].decimals;
  };
  if (std::any_of(rows.begin(), rows.end(), differs)) return std::nullopt;
  return rows[0].decimals;
}

// The times of the rows in ticks. Where the tick is not chosen by the rows, the
// first that does not fit ends the survey.
Result<void> set_times(const CsvLayout& csv, bool tick_is_fixed,
                       CsvSurvey& survey) {
  std::int64_t running = 0;
  StampDigits digits;
  for (std::size_t i = 0; i < survey.rows.size(); ++i) {
    const SurveyRow& row = survey.rows[i];
    if (!csv.columns.time) {
      survey.times.push_back(static_cast<std::int64_t>(i) *
                             survey.ticks_per_row_tick);
      continue;
    }
    auto ticks =
        stamp_ticks(row.time.stamp, survey.tick_exponent - row.time.unit);
    if (ticks && csv.columns.times_are_steps) *ticks += running;
    if (!ticks || *ticks > kMostTicks || *ticks < -kMostTicks) {
      if (tick_is_fixed) {
        survey.rows.resize(i);
        break;
      }
      return refuse_at(row.byte,
                       "found a time too large to be held together with the "
                       "finest decimals of the rows beside it",
                       "write the times with fewer digits or from a later "
                       "origin, or state a coarser --tick");
    }
    running = *ticks;
    survey.times.push_back(*ticks);
    const int shift = row.time.unit - survey.tick_exponent;
    digits.add(row.time.stamp.digits == 0
                   ? std::nullopt
                   : std::optional<int>(row.time.stamp.first_place() + shift),
               row.time.stamp.last_place + shift);
  }
  survey.resolution_ticks = digits.resolution_ticks();
  if (!csv.columns.time) survey.resolution_ticks = survey.ticks_per_row_tick;
  return {};
}

}  // namespace

CellFault split_row(std::string_view line, const CsvLayout& csv,
                    std::vector<std::string_view>& cells) {
  const CellFault fault = split_cells(line, csv.separator, cells);
  if (csv.columns.trailing_separator && cells.back().empty() &&
      fault == CellFault::kNone && cells.size() == csv.columns.cells() + 1) {
    cells.pop_back();
  }
  return fault;
}

Result<CsvSurvey> survey_rows(std::string_view text, std::size_t body, bool all,
                              const CsvLayout& csv,
                              const ReadOptions& options) {
  CsvSurvey survey;
  Gatherer gatherer(csv, options, survey);
  for (std::size_t at = body; at < text.size();) {
    const CsvLine line = line_at(text, at, csv.line_end);
    // The last row may be cut off; what it shows may be half a number.
    if (!line.ended && (!all || !survey.rows.empty())) break;
    if (!is_blank_or_comment(line.text) && !gatherer.take(line)) break;
    at = line.next;
  }
  if (const auto grouped = gatherer.grouped()) {
    return refuse_at(*grouped,
                     "found a comma before three digits in all times, which "
                     "may be a decimal mark or group the digits",
                     "state --decimal-mark comma if it is one; grouped digits "
                     "are not read");
  }
  const auto tick = choose_tick(survey.rows, csv.columns, options);
  if (!tick) return tl::unexpected<Error>(tick.error());
  survey.tick_exponent = tick->exponent;
  survey.ticks_per_row_tick = tick->per_row_tick;
  if (survey.rows.empty()) return survey;
  auto set = set_times(
      csv, options.csv.tick_s || csv.columns.base == CsvTimeBase::kSamples,
      survey);
  if (!set) return tl::unexpected<Error>(std::move(set.error()));
  if (survey.rows.empty()) return survey;
  const auto& times = survey.times;
  if (times.size() > 1 && std::all_of(times.begin(), times.end(),
                                      [&](auto t) { return t == times[0]; })) {
    return refuse_at(survey.rows[1].byte,
                     "found the same time in all of the first rows, expected "
                     "times that increase",
                     "export the times with more digits");
  }
  if (csv.columns.time) {
    survey.fixed_decimals = common_decimals(survey.rows);
    if (!csv.columns.times_are_steps) find_binary_step(survey);
  }
  return survey;
}

void mark_changes(const CsvLayout& csv, CsvSurvey& survey) {
  std::vector<std::size_t> columns;
  for (std::size_t i = 0; i < csv.values.size(); ++i) {
    if (csv.values[i].logic) columns.push_back(csv.columns.values[i]);
  }
  if (columns.empty()) columns = csv.columns.values;
  std::vector<std::string_view> last(csv.columns.cells());
  bool first = true;
  for (SurveyRow& row : survey.rows) {
    row.changes = std::exchange(first, false);
    for (const std::size_t i : columns) {
      if (row.cells[i].empty() || row.cells[i] == last[i]) continue;
      row.changes = true;
      last[i] = row.cells[i];
    }
  }
}

}  // namespace clockassay
