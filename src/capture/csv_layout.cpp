// SPDX-License-Identifier: GPL-3.0-or-later
#include "capture/csv_layout.h"

#include <algorithm>
#include <utility>

#include "capture/csv_cells.h"
#include "capture/csv_channels.h"
#include "capture/csv_facts.h"
#include "capture/csv_head.h"
#include "capture/csv_refusal.h"
#include "capture/csv_rows.h"
#include "capture/csv_sampling.h"
#include "capture/csv_split.h"
#include "capture/csv_survey.h"
#include "capture/shown_text.h"

namespace clockassay {
namespace {

// Bytes looked at first, and at most. Chosen: thousands of rows, enough to
// tell samples from changes; a preamble beyond the last is no preamble.
constexpr std::size_t kFirstLook = std::size_t{64} << 10;
constexpr std::size_t kLongestLook = std::size_t{16} << 20;

Result<void> check_encoding(std::string_view text, bool all) {
  if (all) {
    const std::size_t last = text.find_last_not_of('\0');
    text = text.substr(0, last == std::string_view::npos ? 0 : last + 1);
  }
  const auto is_control = [](char c) {
    return static_cast<unsigned char>(c) < ' ' && c != '\n' && c != '\r' &&
           c != '\t' && c != '\f';
  };
  const auto bad = std::find_if(text.begin(), text.end(), is_control);
  if (bad != text.end()) {
    const auto at = static_cast<std::size_t>(bad - text.begin());
    // Up to the end of what is looked at: that the file goes on, or not, with
    // anything else is not known yet.
    if (!all && text.find_first_not_of('\0', at) == std::string_view::npos) {
      return {};
    }
    return refuse_at(
        at,
        "found the byte " + shown_text(text.substr(at, 1)) + ", expected text",
        "this is no CSV file but binary data, or it is damaged");
  }
  return {};
}

Result<void> check_format(std::string_view text) {
  const std::size_t at = text.find_first_not_of(" \t\r\n\xEF\xBB\xBF");
  if (at == std::string_view::npos || text[at] != '$' ||
      text.find("$end", at) == std::string_view::npos) {
    return {};
  }
  return refuse_at(at, "found a VCD file, expected rows of times and levels",
                   "leave --format out: it is recognised by content");
}

// A column without a name, or named as one that counts, which does count.
void leave_out_counters(const CsvHead& head, const CsvSurvey& survey,
                        CsvColumns& columns) {
  if (columns.lone || columns.event_level) return;
  const auto is_counter = [&](std::size_t i) {
    const bool unnamed =
        i >= head.cells.names.size() || head.cells.names[i].empty();
    const bool named = !unnamed && column_name(head.cells.names[i]).meaning ==
                                       ColumnMeaning::kSampleCount;
    return (unnamed || named) && counts_rows(survey, i);
  };
  for (const std::size_t i : columns.values) {
    if (is_counter(i)) columns.ignored.push_back(i);
  }
  std::erase_if(columns.values, is_counter);
}

// Whether all complete rows leave the cell after the last column empty, or have
// none.
bool rows_end_in_separator(std::string_view text, bool all, const CsvHead& head,
                           std::size_t columns, bool must) {
  std::vector<std::string_view> cells;
  bool any = false;
  for (std::size_t at = head.body; at < text.size();) {
    const CsvLine line = line_at(text, at, head.line_end);
    if (!line.ended && (!all || any)) break;
    at = line.next;
    if (is_blank_or_comment(line.text)) continue;
    if (split_cells(line.text, head.separator, cells) != CellFault::kNone) {
      break;
    }
    const bool ends = cells.size() == columns + 1 && cells.back().empty();
    if (!ends && (must || cells.size() > columns)) return false;
    any = true;
  }
  return any || !must;
}

// A separator at the end of the header row or of the rows makes no column.
bool drop_trailing(std::string_view text, bool all, CsvHead& head) {
  std::vector<std::string>& names = head.cells.names;
  if (names.empty()) {
    const std::size_t columns = head.cells.columns;
    if (columns < 2 ||
        !rows_end_in_separator(text, all, head, columns - 1, false)) {
      return false;
    }
    --head.cells.columns;
    return true;
  }
  bool trailing = false;
  if (names.size() > 1 && names.back().empty()) {
    trailing = rows_end_in_separator(text, all, head, names.size() - 1, false);
    if (trailing) names.pop_back();
  } else {
    trailing = rows_end_in_separator(text, all, head, names.size(), true);
  }
  head.cells.columns = names.size();
  return trailing;
}

Result<CsvColumns> columns_of(const CsvHead& head, const ReadOptions& options) {
  auto columns = read_csv_columns(head.cells, options.csv);
  if (columns) return columns;
  const std::size_t at = head.header ? head.header->begin : head.body;
  return refuse_at(at, std::move(columns.error()));
}

// Plain numbers whose unit nobody says.
Result<void> check_unit(std::string_view text, const CsvHead& head,
                        const CsvLayout& csv) {
  if (csv.columns.unit_exponent) return {};
  std::vector<std::string_view> cells;
  for (std::size_t at = head.body; at < text.size();) {
    const CsvLine line = line_at(text, at, csv.line_end);
    at = line.next;
    if (is_blank_or_comment(line.text)) continue;
    (void)split_cells(line.text, csv.separator, cells);
    const std::size_t column = *csv.columns.time;
    if (column >= cells.size()) return {};
    const auto stamp = parse_stamp(cells[column], '.');
    const auto other = parse_stamp(cells[column], ',');
    if (!stamp && !other) {
      if (is_number_cell(cells[column])) return {};  // has a unit
      return refuse_at(
          static_cast<std::size_t>(cells[column].data() - text.data()),
          "found " + shown_text(cells[column]) +
              " in the time column, expected a decimal number",
          stamp_hint(cells[column]));
    }
    if ((stamp ? stamp : other)->digits == 0) continue;  // a unit may follow
    break;
  }
  const std::size_t at = head.header ? head.header->begin : head.body;
  const std::string hint =
      "name it time_s, time_ms, time_us, time_ns or time_ps, whichever is "
      "meant, or state --time-unit";
  if (!head.header) {
    return refuse_at(at, "found times without a unit, expected one", hint);
  }
  return refuse_at(at,
                   "found the column name " +
                       shown_text(head.cells.names[*csv.columns.time]) +
                       ", expected the unit of time with it",
                   hint);
}

Result<void> understand(std::string_view text, bool all, const CsvHead& head,
                        const ReadOptions& options, CsvLayout& csv) {
  auto survey = survey_rows(text, head.body, all, csv, options);
  if (!survey) return tl::unexpected<Error>(survey.error());
  csv.decimal_mark = survey->decimal_mark;
  csv.tick_exponent = survey->tick_exponent;
  csv.ticks_per_row_tick = survey->ticks_per_row_tick;
  csv.fixed_decimals = survey->fixed_decimals;
  leave_out_counters(head, *survey, csv.columns);
  auto selected = choose_channels(options, *survey, text, all, csv);
  if (!selected) return selected;
  if (!csv.columns.lone && !csv.columns.event_level) mark_changes(csv, *survey);
  auto sampling = set_sampling(options, head, *survey, csv);
  if (!sampling) return sampling;
  auto facts = csv_facts(csv, head, *survey, options);
  auto& all_facts = csv.layout.understanding.facts;
  all_facts.insert(all_facts.begin(), facts.begin(), facts.end());
  if (csv.is_stateful()) {
    csv.layout.entry.mode = kCsvBeforeRows;
    if (csv.columns.lone) {
      csv.layout.entry.held = {
          *csv.columns.lone == LoneEdges::kBothRiseFirst ? 1 : 0};
    }
  }
  csv.layout.understanding.first_records =
      first_records(csv, text, head.body, all);
  return {};
}

Result<CsvLayout> describe(std::string_view text, bool all, CsvHead head,
                           const ReadOptions& options) {
  CsvLayout csv;
  if (head.header) csv.header = std::string(trim_cell(head.header->text));
  csv.separator = head.separator;
  csv.line_end = head.line_end;
  const bool trailing = drop_trailing(text, all, head);
  auto columns = columns_of(head, options);
  if (!columns) return tl::unexpected<Error>(std::move(columns.error()));
  csv.columns = *std::move(columns);
  csv.columns.trailing_separator = trailing;
  if (!head.has_row) {
    return refuse_at(text.size(),
                     "found a header row and no rows, expected rows of times",
                     "record the capture again");
  }
  auto unit = check_unit(text, head, csv);
  if (!unit) return tl::unexpected<Error>(std::move(unit.error()));
  csv.layout.format = "csv";
  csv.layout.body_offset = static_cast<std::int64_t>(head.body);
  csv.layout.rising_only =
      csv.columns.lone && *csv.columns.lone == LoneEdges::kRising;
  auto understood = understand(text, all, head, options, csv);
  if (!understood) return tl::unexpected<Error>(std::move(understood.error()));
  return csv;
}

}  // namespace

Result<CsvLayout> read_csv_layout(std::string_view prefix, bool whole,
                                  const ReadOptions& options,
                                  bool& needs_more) {
  needs_more = false;
  for (std::size_t look = kFirstLook;; look *= 2) {
    if (prefix.size() < look && !whole) {
      needs_more = true;
      return failure(ErrorCode::kBadData,
                     "the header does not end in what was read so far");
    }
    const std::string_view text = prefix.substr(0, look);
    const bool all = whole && prefix.size() <= look;
    const auto encoding = check_encoding(text, all);
    if (!encoding) return tl::unexpected<Error>(encoding.error());
    const auto format = check_format(text);
    if (!format) return tl::unexpected<Error>(format.error());
    auto head = read_csv_head(text, all, options);
    if (!head) return tl::unexpected<Error>(std::move(head.error()));
    if (*head) return describe(text, all, **std::move(head), options);
    if (look >= kLongestLook) {
      return refuse_at(0,
                       "found no header row and row in the first 16 MiB, "
                       "expected lines of text",
                       "this is no CSV file, or its preamble is too long");
    }
  }
}

}  // namespace clockassay
