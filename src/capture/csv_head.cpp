// SPDX-License-Identifier: GPL-3.0-or-later
#include "capture/csv_head.h"

#include <algorithm>
#include <utility>

#include "capture/csv_header_finder.h"
#include "capture/csv_levels.h"
#include "capture/csv_preamble.h"
#include "capture/csv_refusal.h"
#include "capture/csv_separator.h"
#include "capture/csv_split.h"
#include "capture/line_ends.h"
#include "capture/shown_text.h"

namespace clockassay {
namespace {

constexpr std::string_view kByteOrderMark = "\xEF\xBB\xBF";

// Every line, and those that are no comment and not blank.
struct Lines {
  std::vector<CsvLine> all;
  std::vector<CsvLine> data;
};

Lines lines_of(std::string_view text, bool all, char line_end) {
  Lines lines;
  std::size_t at = text.starts_with(kByteOrderMark) ? 3 : 0;
  while (at < text.size()) {
    const CsvLine line = line_at(text, at, line_end);
    if (!line.ended && !all) break;
    if (!is_preamble_comment(line.text)) {
      lines.data.push_back(line);
    } else {
      lines.all.push_back(line);
    }
    at = line.next;
  }
  return lines;
}

// Above `end`, in the order of the file.
Result<void> take_above(const Lines& lines, std::size_t end,
                        bool rate_is_stated, CsvHead& head) {
  std::vector<CsvLine> above;
  for (const auto* kind : {&lines.all, &lines.data}) {
    for (const CsvLine& line : *kind) {
      if (line.begin < end) above.push_back(line);
    }
  }
  std::sort(above.begin(), above.end(), [](const CsvLine& a, const CsvLine& b) {
    return a.begin < b.begin;
  });
  for (const CsvLine& line : above) {
    auto taken = take_preamble_line(line, rate_is_stated, head);
    if (!taken) return taken;
  }
  return {};
}

// No line may be a header or a row: says what the text is.
tl::unexpected<Error> refuse_text(std::string_view text, const Lines& lines,
                                  char separator, const ReadOptions& options) {
  if (lines.data.empty()) {
    return refuse_at(
        text.size(),
        "found only comments and blank lines, expected a header row and rows",
        "record the capture again");
  }
  std::vector<std::string_view> cells;
  for (const CsvLine& line : lines.data) {
    const CellFault fault = split_cells(line.text, separator, cells);
    if (fault == CellFault::kNone) continue;
    return refuse_at(line.begin, fault_error(fault, cells.back()));
  }
  const CsvLine& first = lines.data[0];
  if (options.csv.time_column == "none") {
    return refuse_at(first.begin,
                     "found " + shown_text(first.text) +
                         " and no row of levels after it, expected rows of "
                         "levels",
                     "say with --levels LOW,HIGH what they are written as, or "
                     "state --separator");
  }
  return refuse_at(first.begin,
                   "found " + shown_text(first.text) +
                       " and no row of numbers after it, expected a header "
                       "row and rows of times and levels",
                   "this is no CSV capture; if it is one, state "
                   "--time-column");
}

void choose_separator(const std::vector<CsvLine>& data,
                      const ReadOptions& options, CsvHead& head) {
  const auto stated =
      data.empty() ? std::nullopt : separator_line(data[0].text);
  const auto vote = vote_separator(data);
  if (options.csv.separator) {
    head.separator = *options.csv.separator;
    head.separator_because = "--separator";
  } else if (stated) {
    head.separator = *stated;
    head.separator_because = "the first line states it";
  } else if (vote) {
    head.separator = vote->separator;
    head.separator_because = "in " + std::to_string(vote->votes) + " of " +
                             std::to_string(vote->lines) +
                             " lines with numbers";
  } else {
    head.separator = data.empty() ? ',' : separator_in(data[0].text);
    head.separator_because = "no line with numbers holds another";
  }
}

// A row of numbers and levels above the header would be lost.
std::optional<Error> row_above(const HeaderFinder& finder,
                               const HeaderPlace& found,
                               const std::vector<CsvLine>& lines) {
  if (!found.has_header) return std::nullopt;
  const std::size_t columns = finder.cells(found.header).size();
  const auto is_value = [](std::string_view cell) {
    return is_number_cell(cell) || LevelWords().parse(cell);
  };
  for (std::size_t i = 0; i < found.header; ++i) {
    const auto row = finder.cells(i);
    if (row.size() != columns ||
        !std::all_of(row.begin(), row.end(), is_value)) {
      continue;
    }
    Error error{ErrorCode::kBadData,
                "found the row " + shown_text(lines[i].text) +
                    " above the header row " +
                    shown_text(lines[found.header].text) +
                    ", expected rows below it only",
                "split the file at its header rows, or delete the row"};
    error.byte = static_cast<std::int64_t>(lines[i].begin);
    return error;
  }
  return std::nullopt;
}

// A quote that is not closed down to the header row, or text after one in it.
std::optional<Error> header_fault(const CsvHead& head,
                                  const std::vector<CsvLine>& lines) {
  std::vector<std::string_view> cells;
  for (const CsvLine& line : lines) {
    if (line.begin >= head.body) break;
    const bool is_header = head.header && line.begin == head.header->begin;
    const CellFault fault = split_cells(line.text, head.separator, cells);
    if (fault == CellFault::kNone ||
        (fault == CellFault::kTextAfterQuote && !is_header)) {
      continue;
    }
    Error error = fault_error(fault, cells.back());
    error.byte = static_cast<std::int64_t>(line.begin);
    return error;
  }
  return std::nullopt;
}

// A header row without the separator of the rows.
std::optional<Error> lacks_separator(const CsvHead& head,
                                     const ReadOptions& options) {
  if (!head.header || head.cells.names.size() > 1 || head.cells.columns < 2) {
    return std::nullopt;
  }
  if (!options.csv.time_column.empty()) return std::nullopt;
  Error error{ErrorCode::kBadData,
              "found the header row " + shown_text(head.header->text) +
                  " without the separator " +
                  shown_text(std::string_view(&head.separator, 1)) +
                  " of the rows",
              head.separator == ','
                  ? "with a decimal comma, separate the columns by a "
                    "semicolon, or state --separator and --decimal-mark"
                  : "use one separator in all rows, or state --separator"};
  error.byte = static_cast<std::int64_t>(head.header->begin);
  return error;
}

// "Time (s)  clk": where blanks separate, a unit in brackets belongs to the
// name before it.
void join_units(std::vector<std::string>& names) {
  for (std::size_t i = 1; i < names.size(); ++i) {
    const bool bracket = names[i].starts_with('(') || names[i].starts_with('[');
    if (!bracket) continue;
    names[i - 1] += " " + names[i];
    names.erase(names.begin() + static_cast<std::ptrdiff_t>(i));
    --i;
  }
}

void take_cells(const HeaderFinder& finder, const HeaderPlace& found,
                const Lines& lines, CsvHead& head) {
  head.has_row = found.first_row < lines.data.size();
  head.header_because = found.because;
  const std::size_t row_cells =
      head.has_row ? finder.cells(found.first_row).size() : 0;
  if (!found.has_header) {
    head.cells.columns = row_cells;
    head.body = lines.data[found.first_row].begin;
    return;
  }
  head.header = lines.data[found.header];
  head.body = head.header->next;
  for (const auto cell : finder.cells(found.header)) {
    head.cells.names.push_back(plain_cell(cell));
  }
  if (found.has_units) {
    head.body = lines.data[found.header + 1].next;
    for (const auto cell : finder.cells(found.header + 1)) {
      head.cells.units.push_back(plain_cell(cell));
    }
  }
  if (head.separator == ' ' && head.cells.names.size() > row_cells) {
    join_units(head.cells.names);
  }
  head.cells.columns = row_cells;
}

}  // namespace

char line_end_of(std::string_view text, bool all) {
  const std::size_t cr = text.find('\r');
  if (cr == std::string_view::npos) return '\n';
  if (cr + 1 == text.size() && !all) return '\n';
  return text.find('\n') == std::string_view::npos ? '\r' : '\n';
}

Result<std::optional<CsvHead>> read_csv_head(std::string_view text, bool all,
                                             const ReadOptions& options) {
  CsvHead head;
  head.line_end = line_end_of(text, all);
  Lines lines = lines_of(text, all, head.line_end);
  choose_separator(lines.data, options, head);
  if (!lines.data.empty() && separator_line(lines.data[0].text)) {
    lines.data.erase(lines.data.begin());
  }
  const HeaderFinder finder(lines.data, head.separator, options);
  const auto found = finder.find();
  const bool has_row = found && found->first_row < lines.data.size();
  if (!has_row && !all) return std::optional<CsvHead>();
  if (!found) return refuse_text(text, lines, head.separator, options);
  if (auto error = row_above(finder, *found, lines.data)) {
    return tl::unexpected<Error>(std::move(*error));
  }
  take_cells(finder, *found, lines, head);
  if (auto error = header_fault(head, lines.data)) {
    return tl::unexpected<Error>(std::move(*error));
  }
  if (auto error = lacks_separator(head, options)) {
    return tl::unexpected<Error>(std::move(*error));
  }
  auto preamble =
      take_above(lines, head.header ? head.header->begin : head.body,
                 options.sample_rate_hz.has_value(), head);
  if (!preamble) return tl::unexpected<Error>(std::move(preamble.error()));
  if (head.sample_rate_hz) {
    head.sample_rate_because = stated_in_line(text, head.sample_rate_byte);
  }
  return std::optional<CsvHead>(std::move(head));
}

}  // namespace clockassay
