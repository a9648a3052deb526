// SPDX-License-Identifier: GPL-3.0-or-later
#include "capture/csv_facts.h"

#include <optional>
#include <string>
#include <utility>
#include <variant>

#include "capture/csv_cells.h"
#include "capture/csv_rows.h"
#include "capture/csv_split.h"
#include "capture/exact_seconds.h"
#include "capture/line_ends.h"
#include "capture/shown_text.h"

namespace clockassay {
namespace {

// Records shown. Chosen: enough to see a pattern.
constexpr std::size_t kFirstRecords = 5;

std::string unit_text(const CsvColumns& columns) {
  if (columns.base == CsvTimeBase::kSamples) return "sample numbers";
  if (!columns.unit_exponent) return "units in the cells";
  switch (*columns.unit_exponent) {
    case 0:
      return "seconds";
    case -3:
      return "ms";
    case -6:
      return "us";
    case -9:
      return "ns";
    case -12:
      return "ps";
    case -15:
      return "fs";
    default:
      return "units of 1e" + std::to_string(*columns.unit_exponent) + " s";
  }
}

ReadingFact rows_fact(const CsvLayout& csv, const CsvSurvey& survey,
                      const ReadOptions& options) {
  const std::string rows = std::to_string(survey.rows.size());
  if (csv.columns.lone) {
    switch (*csv.columns.lone) {
      case LoneEdges::kRising:
        return {"rows", "rising edges",
                options.csv.edges ? "--edges" : "by the name of the column"};
      case LoneEdges::kBothRiseFirst:
        return {"rows", "edges, the first one rising", "--edges"};
      case LoneEdges::kBothFallFirst:
        return {"rows", "edges, the first one falling", "--edges"};
    }
  }
  const char* stated = options.csv.rows ? "--rows" : nullptr;
  switch (csv.rows) {
    case CsvRows::kEvents:
      return {"rows", "changes of one channel each",
              stated ? stated : "by the names of the columns"};
    case CsvRows::kSamples:
      if (!csv.columns.time) return {"rows", "samples", "--time-column"};
      return {"rows", "samples",
              stated ? stated
                     : "constant step in the first " + rows +
                           " rows, some of which change nothing"};
    case CsvRows::kChanges:
      break;
  }
  return {"rows", "changes",
          stated ? stated
                 : "no constant step with rows that change nothing in the "
                   "first " +
                       rows + " rows"};
}

std::optional<std::string> level_text(const PieceChannel& channel) {
  std::optional<std::string> text;
  for (const auto& item : channel.items) {
    const auto* event = std::get_if<LevelEvent>(&item);
    if (event == nullptr) continue;
    text = event->level == Level::kHigh  ? "1"
           : event->level == Level::kLow ? "0"
                                         : "unknown";
  }
  return text;
}

}  // namespace

std::vector<ReadingFact> csv_facts(const CsvLayout& csv, const CsvHead& head,
                                   const CsvSurvey& survey,
                                   const ReadOptions& options) {
  std::vector<ReadingFact> facts = head.preamble;
  if (head.line_end == '\r') {
    facts.push_back({"line ends", "CR alone", "there is no LF"});
  }
  facts.push_back(
      {"separator", separator_name(head.separator), head.separator_because});
  if (!survey.decimal_because.empty()) {
    facts.push_back({"decimal mark",
                     csv.decimal_mark == ',' ? "comma" : "point",
                     survey.decimal_because});
  }
  facts.push_back({"header row", csv.header.empty() ? "none" : csv.header,
                   head.header_because});
  const CsvColumns& columns = csv.columns;
  if (columns.time) {
    const std::size_t at = *columns.time;
    facts.push_back(
        {"time column",
         std::to_string(at + 1) +
             (at < head.cells.names.size() ? ", " + head.cells.names[at] : ""),
         columns.time_because});
    facts.push_back({"time unit", unit_text(columns),
                     columns.unit_because.empty() ? "behind the numbers"
                                                  : columns.unit_because});
    facts.push_back({"times count",
                     columns.times_are_steps ? "from the row before"
                                             : "from one fixed instant",
                     columns.times_are_steps ? "--time-steps" : "not stated"});
  } else {
    facts.push_back({"time column", "none", columns.time_because});
  }
  for (const std::size_t i : columns.ignored) {
    facts.push_back({"column not read", columns.names[i],
                     "it is no channel of the time that is read"});
  }
  facts.push_back(
      {"tick", exact_seconds(Ticks(1), csv.layout.grid.tick_s) + " s",
       options.csv.tick_s ? "--tick" : "holds every digit of the first rows"});
  if (survey.float_ticks) {
    facts.push_back(
        {"resolution of the times",
         exact_seconds(Ticks(*survey.float_ticks), csv.layout.grid.tick_s) +
             " s",
         survey.float_reason});
  }
  facts.push_back(rows_fact(csv, survey, options));
  return facts;
}

std::vector<RecordAsRead> first_records(const CsvLayout& csv,
                                        std::string_view text, std::size_t body,
                                        bool all) {
  const CsvPieceParser parser(csv);
  std::vector<RecordAsRead> records;
  ParseState state = csv.layout.entry;
  for (std::size_t at = body;
       at < text.size() && records.size() < kFirstRecords;) {
    const CsvLine line = line_at(text, at, csv.line_end);
    if (!line.ended && !all) break;
    at = line.next;
    if (is_blank_or_comment(line.text)) continue;
    const Piece piece =
        parser.parse(text.substr(line.begin, line.next - line.begin),
                     static_cast<std::int64_t>(line.begin), state, !line.ended);
    if (piece.error || !piece.has_time) break;
    state = piece.exit;
    RecordAsRead record;
    record.line = 1 + count_line_ends(text.substr(0, line.begin));
    record.text = std::string(line.text);
    record.time_s = exact_seconds(piece.last_time, csv.layout.grid.tick_s);
    for (std::size_t i = 0; i < piece.channels.size(); ++i) {
      if (const auto level = level_text(piece.channels[i])) {
        record.values.push_back(csv.layout.selected[i].name + " = " + *level);
      }
    }
    records.push_back(std::move(record));
  }
  return records;
}

}  // namespace clockassay
