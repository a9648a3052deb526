// SPDX-License-Identifier: GPL-3.0-or-later
#include "capture/csv_survey.h"

#include <algorithm>
#include <vector>

#include "capture/csv_cells.h"

namespace clockassay {
namespace {

// A tick finer than this is taken only where digits need it: 1 ps is below
// what any sampler resolves, and at 1 fs the range ends after 77 minutes.
constexpr int kFinestIdleTick = -12;

// The finest tick there is, 10^-18 s. Chosen: a thousandth of the finest unit
// of time that is read, and seconds still count in the range of a tick.
constexpr int kFinestTick = -18;

// In the order of preference: a comma may be a decimal mark beside the others.
constexpr std::string_view kSeparators = "\t;,";

// One row of the survey.
struct SurveyRow {
  std::size_t byte = 0;
  StampText stamp;
  int decimals = 0;      // digits after the decimal mark
  bool changes = false;  // some level differs from the row before
  bool has_exponent = false;
};

// Calls visit(line) for every complete data line until it says false.
template <class Visit>
void for_each_row(std::string_view text, std::size_t body, bool all,
                  const Visit& visit) {
  for (std::size_t at = body; at < text.size();) {
    const CsvLine line = line_at(text, at);
    if (!line.ended && !all) return;
    if (!is_blank_or_comment(line.text) && !visit(line)) return;
    at = next_line(text, line);
  }
}

char mark_of(std::string_view cell, char separator) {
  const bool comma = separator != ',' &&
                     cell.find(',') != std::string_view::npos &&
                     cell.find('.') == std::string_view::npos;
  return comma ? ',' : '.';
}

bool has_mark(std::string_view cell) {
  return cell.find_first_of(",.") != std::string_view::npos;
}

// Whether any level differs from those so far, which it then replaces. An
// empty cell is no change.
bool take_levels(const std::vector<std::string_view>& cells,
                 std::vector<std::string_view>& levels) {
  bool changes = levels.empty();
  levels.resize(cells.size());
  for (std::size_t i = 1; i < cells.size(); ++i) {
    if (cells[i].empty() || cells[i] == levels[i]) continue;
    changes = true;
    levels[i] = cells[i];
  }
  return changes;
}

std::vector<SurveyRow> gather(std::string_view text, std::size_t body, bool all,
                              const CsvLayout& csv, char& mark) {
  std::vector<SurveyRow> rows;
  std::vector<std::string_view> cells;
  std::vector<std::string_view> levels;
  bool mark_known = false;
  for_each_row(text, body, all, [&](const CsvLine& line) {
    // The last row may be cut off; what it shows may be half a number.
    if (!line.ended && !rows.empty()) return false;
    split_row(line.text, csv, cells);
    if (cells.size() != csv.columns.cells()) return false;
    if (!mark_known) mark = mark_of(cells[0], csv.separator);
    mark_known = mark_known || has_mark(cells[0]);
    const auto stamp = parse_stamp(cells[0], mark);
    if (!stamp) return false;
    SurveyRow row;
    row.byte = line.begin;
    row.stamp = *stamp;
    row.has_exponent = cells[0].find_first_of("eE") != std::string_view::npos;
    const std::size_t at = cells[0].find(mark);
    row.decimals = at == std::string_view::npos
                       ? 0
                       : static_cast<int>(cells[0].size() - at - 1);
    row.changes = take_levels(cells, levels);
    rows.push_back(row);
    return true;
  });
  return rows;
}

bool all_fit(const std::vector<SurveyRow>& rows, int place) {
  return std::all_of(rows.begin(), rows.end(), [place](const SurveyRow& row) {
    return stamp_ticks(row.stamp, place).has_value();
  });
}

// The finest place worth telling apart, in the unit of the column.
int finest_place(const std::vector<SurveyRow>& rows, int unit_exponent) {
  int written = rows[0].stamp.last_place;
  std::optional<int> needed;
  for (const SurveyRow& row : rows) {
    written = std::min(written, row.stamp.last_place);
    if (row.stamp.digits == 0) continue;
    const int place = row.stamp.last_nonzero_place();
    needed = std::min(needed.value_or(place), place);
  }
  const int idle = std::max(written, kFinestIdleTick - unit_exponent);
  const int place = std::min(idle, needed.value_or(idle));
  const int fitting = needed && !all_fit(rows, place) ? *needed : place;
  return std::min(fitting, -unit_exponent);  // a second at most
}

// The step of rows that are samples: the same between any two, and not a
// change in every row. The last row may be there to say where a capture of
// changes ends, so it does not count.
std::optional<std::int64_t> sample_step(const std::vector<SurveyRow>& rows,
                                        const std::vector<std::int64_t>& times,
                                        bool rising_only) {
  if (rising_only || rows.size() < 3) return std::nullopt;
  const std::int64_t step = times[1] - times[0];
  if (step <= 0) return std::nullopt;
  for (std::size_t i = 2; i < times.size(); ++i) {
    if (times[i] - times[i - 1] != step) return std::nullopt;
  }
  const bool idle = std::any_of(rows.begin() + 1, rows.end() - 1,
                                [](const SurveyRow& r) { return !r.changes; });
  return idle ? std::optional<std::int64_t>(step) : std::nullopt;
}

tl::unexpected<Error> refuse_at(std::size_t byte, std::string message,
                                std::string hint) {
  Error error{ErrorCode::kBadData, std::move(message), std::move(hint)};
  error.byte = static_cast<std::int64_t>(byte);
  return tl::unexpected<Error>(std::move(error));
}

std::optional<int> common_decimals(const std::vector<SurveyRow>& rows) {
  const auto differs = [&](const SurveyRow& row) {
    return row.has_exponent || row.decimals != rows[0].decimals;
  };
  if (std::any_of(rows.begin(), rows.end(), differs)) return std::nullopt;
  return rows[0].decimals;
}

}  // namespace

std::optional<char> vote_separator(std::string_view text, std::size_t body,
                                   bool all) {
  std::int64_t lines = 0;
  std::int64_t votes[kSeparators.size()] = {};
  for_each_row(text, body, all, [&](const CsvLine& line) {
    ++lines;
    for (std::size_t i = 0; i < kSeparators.size(); ++i) {
      if (line.text.find(kSeparators[i]) != std::string_view::npos) ++votes[i];
    }
    return true;
  });
  for (std::size_t i = 0; i < kSeparators.size(); ++i) {
    if (2 * votes[i] > lines) return kSeparators[i];
  }
  return std::nullopt;
}

char separator_in(std::string_view header) {
  for (char separator : kSeparators) {
    if (header.find(separator) != std::string_view::npos) return separator;
  }
  return ',';
}

Result<CsvSurvey> survey_rows(std::string_view text, std::size_t body, bool all,
                              const CsvLayout& csv) {
  CsvSurvey survey;
  const std::vector<SurveyRow> rows =
      gather(text, body, all, csv, survey.decimal_mark);
  survey.rows = static_cast<std::int64_t>(rows.size());
  survey.tick_exponent = csv.columns.unit_exponent;
  if (rows.empty()) return survey;
  const int place = finest_place(rows, csv.columns.unit_exponent);
  std::vector<std::int64_t> times;
  for (const SurveyRow& row : rows) {
    if (row.stamp.digits != 0 &&
        row.stamp.last_nonzero_place() + csv.columns.unit_exponent <
            kFinestTick) {
      return refuse_at(row.byte,
                       "found a time with digits below 1e-18 s, expected none",
                       "write the times with fewer digits");
    }
    const auto ticks = stamp_ticks(row.stamp, place);
    if (!ticks) {
      return refuse_at(row.byte,
                       "found a time too large to be held together with the "
                       "finest decimals of the rows beside it",
                       "write the times with fewer digits, or from a later "
                       "origin");
    }
    times.push_back(*ticks);
  }
  if (times.size() > 1 && std::all_of(times.begin(), times.end(),
                                      [&](auto t) { return t == times[0]; })) {
    return refuse_at(rows[1].byte,
                     "found the same time in all of the first rows, expected "
                     "times that increase",
                     "export the times with more digits");
  }
  survey.tick_exponent += place;
  survey.row_step = sample_step(rows, times, csv.columns.rising_only);
  survey.fixed_decimals = common_decimals(rows);
  return survey;
}

}  // namespace clockassay
