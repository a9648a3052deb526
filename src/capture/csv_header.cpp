// SPDX-License-Identifier: GPL-3.0-or-later
#include "capture/csv_header.h"

#include <algorithm>
#include <charconv>
#include <iterator>
#include <utility>

#include "capture/csv_cells.h"
#include "capture/shown_text.h"

namespace clockassay {
namespace {

// Of one of several columns of times: of use in a hint only.
constexpr std::string_view kEdgeKindNames[] = {
    "rising",  "risingedge",  "rise", "start",   "edge",
    "falling", "fallingedge", "fall", "edgetime"};
constexpr std::string_view kChannelNames[] = {"channel", "signal", "name"};
constexpr std::string_view kLevelNames[] = {"level", "value", "state"};

constexpr const char* kLoneHint =
    "name the column rising_s if every row is one rising edge, or state "
    "--edges";

tl::unexpected<Error> refuse(std::string message, std::string hint) {
  return failure(ErrorCode::kBadData, std::move(message), std::move(hint));
}

std::string numbered(std::size_t column) {
  return "column " + std::to_string(column + 1);
}

std::vector<std::size_t> columns_of(const HeaderCells& header,
                                    ColumnMeaning meaning) {
  std::vector<std::size_t> found;
  for (std::size_t i = 0; i < header.names.size(); ++i) {
    if (column_name(header.names[i]).meaning == meaning) found.push_back(i);
  }
  return found;
}

// "1 and 3"
std::string listed(const std::vector<std::size_t>& columns) {
  std::string text;
  for (std::size_t i = 0; i < columns.size(); ++i) {
    if (i > 0) text += i + 1 == columns.size() ? " and " : ", ";
    text += std::to_string(columns[i] + 1);
  }
  return text;
}

// No column is the time by its name: says what there is instead.
tl::unexpected<Error> refuse_without_time(const HeaderCells& header) {
  const auto steps = columns_of(header, ColumnMeaning::kStep);
  if (!steps.empty()) {
    return refuse("found " + shown_text(header.names[steps[0]]) +
                      " as the name of a column of times since the row "
                      "before, expected times since a fixed instant",
                  "state --time-steps if every time counts from the row "
                  "before");
  }
  for (const std::string& text : header.names) {
    const NameAndUnit name = split_unit(text);
    if (!name.exponent || !is_one_of(name.name, kEdgeKindNames)) continue;
    return refuse("found " + shown_text(text) +
                      " as the name of one of several columns, and none that "
                      "is the time, expected one such as time_s",
                  "if it holds the times of one kind of edges, state "
                  "--time-column " +
                      text + " --edges rising; other columns are not read");
  }
  return refuse("found " + shown_text(header.names[0]) +
                    " as the name of the first column, and none that is the "
                    "time, expected one such as time_s",
                "rename the column of the time since a fixed instant, or "
                "state --time-column and --time-unit");
}

Result<std::size_t> find_time(const HeaderCells& header,
                              const CsvOptions& options, std::string& because) {
  if (!options.time_column.empty()) {
    because = "--time-column";
    const auto stated =
        stated_time_column(header.names, header.columns, options.time_column);
    if (stated) return *stated;
    return refuse("found no column " + shown_text(options.time_column) +
                      " among the " + std::to_string(header.columns) +
                      " columns, expected the one --time-column states",
                  "state its name, or its number from 1 on");
  }
  because = "by its name";
  const bool lone = header.names.size() == 1;
  for (const ColumnMeaning meaning :
       {ColumnMeaning::kTime, ColumnMeaning::kStep, ColumnMeaning::kRising,
        ColumnMeaning::kEdges, ColumnMeaning::kSampleCount}) {
    const bool edges =
        meaning == ColumnMeaning::kRising || meaning == ColumnMeaning::kEdges;
    if (edges && !lone) continue;
    if (meaning == ColumnMeaning::kStep && !options.time_is_step) continue;
    const auto found = columns_of(header, meaning);
    if (found.size() == 1) return found[0];
    if (found.size() > 1) {
      return refuse("found times in the columns " + listed(found) +
                        ", expected one time for all channels",
                    "state --time-column; of times that stand between the "
                    "channels each is for those after it");
    }
  }
  return refuse_without_time(header);
}

// What the time column counts, and in which unit.
Result<void> find_unit(const HeaderCells& header, const CsvOptions& options,
                       CsvColumns& columns) {
  const std::size_t at = *columns.time;
  ColumnName name;
  if (!header.names.empty()) name = column_name(header.names[at]);
  if (name.meaning == ColumnMeaning::kStep && !options.time_is_step) {
    return refuse("found " + shown_text(header.names[at]) +
                      " as the name of the time column, expected times since a "
                      "fixed instant",
                  "state --time-steps if every time counts from the row "
                  "before");
  }
  std::optional<int> row_unit;
  if (at < header.units.size()) {
    std::string_view unit = header.units[at];
    if (unit.starts_with('(') || unit.starts_with('[')) unit.remove_prefix(1);
    if (unit.ends_with(')') || unit.ends_with(']')) unit.remove_suffix(1);
    row_unit = time_unit_exponent(trim_cell(unit));
  }
  if (options.time_unit) {
    columns.base = options.time_unit->samples ? CsvTimeBase::kSamples
                                              : CsvTimeBase::kSeconds;
    columns.unit_exponent =
        options.time_unit->samples ? 0 : options.time_unit->exponent;
    columns.unit_because = "--time-unit";
    const auto written = row_unit ? row_unit : name.unit_exponent;
    if (written && (options.time_unit->samples ||
                    *written != options.time_unit->exponent)) {
      columns.unit_because += ", against the unit in the header";
      columns.unit_overridden = true;
    }
    return {};
  }
  if (row_unit && name.unit_exponent && *row_unit != *name.unit_exponent) {
    return refuse("found the unit " + shown_text(header.units[at]) +
                      " below the column name " + shown_text(header.names[at]) +
                      ", expected one unit of time",
                  "state --time-unit");
  }
  columns.unit_exponent = row_unit ? row_unit : name.unit_exponent;
  if (columns.unit_exponent) {
    columns.unit_because = row_unit ? "in the row of units" : "in the header";
  } else if (name.meaning == ColumnMeaning::kSampleCount) {
    columns.base = CsvTimeBase::kSamples;
    columns.unit_exponent = 0;
    columns.unit_because = "by the name of the column";
  }
  return {};
}

Result<void> set_lone(const HeaderCells& header, const CsvOptions& options,
                      CsvColumns& columns) {
  const bool alone = columns.cells() == 1;
  const bool stated = options.edges && !options.time_column.empty();
  if (!columns.time || (!alone && !stated)) {
    if (!options.edges) return {};
    if (!columns.time) {
      return refuse("found --edges together with --time-column none",
                    "leave one of them out");
    }
    return refuse("found " + std::to_string(columns.cells()) +
                      " columns with --edges, which is for a lone column of "
                      "times",
                  "state with --time-column which of them holds the times of "
                  "the edges, or leave --edges out");
  }
  const bool named = !header.names.empty();
  if (options.edges) {
    columns.lone = options.edges;
  } else if (named &&
             column_name(header.names[0]).meaning == ColumnMeaning::kRising) {
    columns.lone = LoneEdges::kRising;
  } else {
    return refuse("found only " +
                      (named ? "the column " + shown_text(header.names[0])
                             : std::string("one column")) +
                      ", which does not say which edges its times are",
                  kLoneHint);
  }
  columns.ignored.clear();
  for (std::size_t i = 0; i < columns.cells(); ++i) {
    if (i != *columns.time) columns.ignored.push_back(i);
  }
  columns.values = {*columns.time};
  return {};
}

// Times that stand between channels are for those after them: groups of
// channels, of which that of the chosen time is read.
void share_out(const HeaderCells& header, CsvColumns& columns) {
  std::vector<std::size_t> group;
  bool chosen = false;
  bool after_time = true;
  const auto close = [&](bool last) {
    if (chosen || (last && columns.values.empty() && !columns.time)) {
      columns.values = group;
    } else {
      columns.ignored.insert(columns.ignored.end(), group.begin(), group.end());
    }
    group.clear();
    chosen = false;
  };
  bool seen_time = false;
  for (std::size_t i = 0; i < columns.cells(); ++i) {
    const ColumnMeaning meaning = header.names.empty()
                                      ? ColumnMeaning::kOther
                                      : column_name(header.names[i]).meaning;
    const bool is_time =
        i == columns.time || (meaning == ColumnMeaning::kTime && columns.time);
    if (is_time) {
      if (!after_time && seen_time) close(false);
      after_time = seen_time = true;
      chosen = chosen || i == columns.time;
      if (i != columns.time) columns.ignored.push_back(i);
      continue;
    }
    if (columns.time && meaning == ColumnMeaning::kStep &&
        column_name(header.names[i]).unit_exponent) {
      columns.ignored.push_back(i);
      continue;
    }
    after_time = false;
    group.push_back(i);
  }
  close(true);
  std::sort(columns.ignored.begin(), columns.ignored.end());
}

// The long form: by the names of its columns, or by the user's word and, if
// there are but two columns beside the time, their order.
Result<void> find_events(const HeaderCells& header, const CsvOptions& options,
                         CsvColumns& columns) {
  if (options.rows && *options.rows != CsvRows::kEvents) return {};
  std::optional<std::size_t> channel;
  std::optional<std::size_t> level;
  for (const std::size_t i : columns.values) {
    if (header.names.empty()) break;
    const std::string name = plain_name(header.names[i]);
    if (!channel && is_one_of(name, kChannelNames)) channel = i;
    if (!level && is_one_of(name, kLevelNames)) level = i;
  }
  const bool both = channel && level && columns.time;
  columns.may_name_channel = channel;
  if (!both && !options.rows) return {};
  if (!both && columns.values.size() == 2 && columns.time) {
    const bool level_first = channel ? *channel == columns.values[1]
                                     : level && *level == columns.values[0];
    channel = columns.values[level_first ? 1 : 0];
    level = columns.values[level_first ? 0 : 1];
  } else if (!both) {
    return refuse("found " + std::to_string(columns.values.size()) +
                      " columns beside the time with --rows events, and no "
                      "names that say which has the channel and which the "
                      "level",
                  "name them channel and level in the header row");
  }
  columns.event_channel = channel;
  columns.event_level = level;
  for (const std::size_t i : columns.values) {
    if (i != *channel && i != *level) columns.ignored.push_back(i);
  }
  columns.values = {*channel, *level};
  return {};
}

}  // namespace

std::optional<std::size_t> stated_time_column(
    const std::vector<std::string>& names, std::size_t columns,
    std::string_view stated) {
  std::size_t number = 0;
  const auto read =
      std::from_chars(stated.data(), stated.data() + stated.size(), number);
  if (read.ec == std::errc() && read.ptr == stated.data() + stated.size()) {
    if (number < 1 || number > columns) return std::nullopt;
    return number - 1;
  }
  const auto exact = std::find(names.begin(), names.end(), stated);
  if (exact != names.end()) {
    return static_cast<std::size_t>(exact - names.begin());
  }
  std::optional<std::size_t> found;
  for (std::size_t i = 0; i < names.size(); ++i) {
    if (split_unit(names[i]).name != plain_name(stated)) continue;
    if (found) return std::nullopt;
    found = i;
  }
  return found;
}

Result<CsvColumns> read_csv_columns(const HeaderCells& header,
                                    const CsvOptions& options) {
  CsvColumns columns;
  columns.times_are_steps = options.time_is_step;
  columns.units = header.units;
  if (header.names.empty() && options.time_column.empty()) {
    return refuse(
        "found no header row, expected the names of the columns, with the "
        "unit of time",
        "add a first line such as time_s,clk, or state --time-column and "
        "--time-unit");
  }
  for (std::size_t i = 0; i < header.columns; ++i) {
    const bool named = i < header.names.size() && !header.names[i].empty();
    columns.names.push_back(named ? header.names[i] : numbered(i));
  }
  if (options.time_column == "none") {
    columns.base = CsvTimeBase::kRowNumber;
    columns.unit_exponent = 0;
    columns.time_because = "--time-column";
    if (columns.times_are_steps) {
      return refuse("found --time-steps together with --time-column none",
                    "leave one of them out");
    }
  } else {
    auto time = find_time(header, options, columns.time_because);
    if (!time) return tl::unexpected<Error>(std::move(time.error()));
    columns.time = *time;
    auto unit = find_unit(header, options, columns);
    if (!unit) return tl::unexpected<Error>(std::move(unit.error()));
  }
  share_out(header, columns);
  auto lone = set_lone(header, options, columns);
  if (!lone) return tl::unexpected<Error>(std::move(lone.error()));
  if (columns.lone) return columns;
  auto events = find_events(header, options, columns);
  if (!events) return tl::unexpected<Error>(std::move(events.error()));
  return columns;
}

}  // namespace clockassay
