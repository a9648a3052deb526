// SPDX-License-Identifier: GPL-3.0-or-later
#include "capture/csv_channels.h"

#include <algorithm>
#include <optional>
#include <string>
#include <utility>
#include <vector>

#include "capture/channel_selection.h"
#include "capture/csv_cells.h"
#include "capture/csv_column_look.h"
#include "capture/csv_levels.h"
#include "capture/csv_other_times.h"
#include "capture/csv_value_columns.h"
#include "capture/csv_voltage_unit.h"
#include "capture/shown_text.h"

namespace clockassay {
namespace {

Result<void> choose_lone(const ReadOptions& options, CsvLayout& csv) {
  const std::vector<std::string> names = {
      csv.columns.lone == LoneEdges::kRising ? "rising" : "edges"};
  csv.layout.channel_names = names;
  auto selection =
      select_channels(names, options.channels, options.skip_missing_channels);
  if (!selection) return tl::unexpected<Error>(selection.error());
  csv.layout.missing = std::move(selection->missing);
  if (options.channels.empty() || !selection->asked[0].empty()) {
    csv.layout.selected.push_back({names[0], std::move(selection->asked[0])});
  }
  return {};
}

FirstCell first_cell(std::string_view cell, std::string_view text) {
  return {cell, static_cast<std::size_t>(cell.data() - text.data())};
}

std::optional<int> volts_of(const CsvColumns& columns, std::size_t i) {
  return volt_exponent(columns.names[i],
                       i < columns.units.size() ? columns.units[i] : "");
}

FirstCells cells_of(std::size_t column, const CsvSurvey& survey,
                    std::string_view text, const CsvLayout& csv) {
  FirstCells cells{
      csv.columns.names[column], {}, volts_of(csv.columns, column)};
  for (const SurveyRow& row : survey.rows) {
    cells.cells.push_back(first_cell(row.cells[column], text));
  }
  return cells;
}

std::vector<FirstCells> cells_by_column(const CsvSurvey& survey,
                                        std::string_view text,
                                        const CsvLayout& csv) {
  std::vector<FirstCells> columns;
  for (const std::size_t i : csv.columns.values) {
    columns.push_back(cells_of(i, survey, text, csv));
  }
  return columns;
}

// The channels of the long form, in the order in which they come first.
std::vector<FirstCells> cells_by_event(const CsvSurvey& survey,
                                       std::string_view text, CsvLayout& csv) {
  std::vector<FirstCells> channels;
  const auto unit = volts_of(csv.columns, *csv.columns.event_level);
  for (const SurveyRow& row : survey.rows) {
    const std::string_view name = row.cells[*csv.columns.event_channel];
    if (name.empty()) continue;  // refused by the parser
    const auto [at, is_new] =
        csv.events.emplace(std::string(name), channels.size());
    if (is_new) channels.push_back({at->first, {}, unit});
    channels[at->second].cells.push_back(
        first_cell(row.cells[*csv.columns.event_level], text));
  }
  return channels;
}

// Names that are asked for and may come in later rows.
void add_expected(const ReadOptions& options, std::vector<FirstCells>& channels,
                  CsvLayout& csv) {
  std::vector<std::string> names;
  for (const FirstCells& channel : channels) names.push_back(channel.name);
  for (const std::string& wanted : options.channels) {
    const std::string base = wanted.substr(0, wanted.rfind('['));
    if (!matching_channels(names, wanted).empty() ||
        !matching_channels(names, base).empty()) {
      continue;
    }
    csv.events.emplace(wanted, channels.size());
    channels.push_back({wanted, {}});
    names.push_back(wanted);
  }
}

// The names of the columns may say long form where a table of two channels is
// meant.
std::optional<Error> refuse_levels_as_names(const CsvSurvey& survey,
                                            std::string_view text,
                                            const CsvLayout& csv) {
  const std::size_t channel = *csv.columns.event_channel;
  const auto is_level = [&](const SurveyRow& row) {
    return LevelWords().parse(row.cells[channel]).has_value();
  };
  if (survey.rows.empty() ||
      !std::all_of(survey.rows.begin(), survey.rows.end(), is_level)) {
    return std::nullopt;
  }
  const std::string_view cell = survey.rows[0].cells[channel];
  Error error{ErrorCode::kBadData,
              "found " + shown_text(cell) + " in the column " +
                  shown_text(csv.columns.names[channel]) +
                  ", which may be the name of a channel or a level",
              "state --rows events if every row names its channel, or --rows "
              "changes or samples if the column is a channel"};
  error.byte = static_cast<std::int64_t>(first_cell(cell, text).byte);
  return error;
}

// Names of channels and something like edges: the long form, which the names of
// the columns do not say.
std::optional<Error> refuse_long_form(const CsvSurvey& survey,
                                      std::string_view text,
                                      const CsvLayout& csv,
                                      const ReadOptions& options) {
  const auto& channel = csv.columns.may_name_channel;
  const auto& values = csv.columns.values;
  if (!channel || csv.columns.event_level || values.size() != 2 ||
      options.csv.rows) {
    return std::nullopt;
  }
  const std::vector<std::string> columns = {csv.columns.names[values[0]],
                                            csv.columns.names[values[1]]};
  for (const std::string& wanted : options.channels) {
    if (!matching_channels(columns, wanted).empty()) return std::nullopt;
  }
  const auto look = [&](std::size_t i, const auto& levels) {
    return look_at_column(cells_of(i, survey, text, csv), csv.decimal_mark,
                          levels);
  };
  const ColumnAppearance names = look(*channel, options.csv.levels);
  if (!names.first_odd) return std::nullopt;
  const std::size_t other = values[values[0] == *channel ? 1 : 0];
  const ColumnAppearance levels = look(other, options.csv.levels);
  const std::string_view cell = survey.rows[*names.first_odd].cells[*channel];
  Error error{ErrorCode::kBadData,
              "found " + shown_text(cell) + " in the column " +
                  shown_text(csv.columns.names[*channel]) +
                  ", which seems to name the channel of each row",
              "if it does, state --rows events"};
  if (levels.look == ColumnLook::kPair && levels.values.size() == 2) {
    error.hint += " " + levels_option(levels, csv.decimal_mark);
  }
  error.hint += "; or name other columns with --channel";
  error.byte = static_cast<std::int64_t>(first_cell(cell, text).byte);
  return error;
}

// A lone column beside the time that counts the rows, or holds times by its
// name: no channel, but perhaps every row is one edge.
std::optional<Error> refuse_edges_beside(const CsvSurvey& survey,
                                         std::string_view text,
                                         const CsvLayout& csv,
                                         const ReadOptions& options) {
  const CsvColumns& columns = csv.columns;
  if (!columns.time || columns.values.size() > 1 || survey.rows.empty() ||
      !options.channels.empty() || options.analogue || options.csv.radix ||
      options.csv.levels) {
    return std::nullopt;
  }
  const bool none = columns.values.empty();
  if (none && columns.ignored.size() != 1) return std::nullopt;
  const std::size_t i = none ? columns.ignored[0] : columns.values[0];
  const ColumnAppearance seen =
      look_at_column(cells_of(i, survey, text, csv), csv.decimal_mark, {});
  const bool counts = counts_rows(survey, i);
  if (!counts &&
      (!seen.first_odd || !column_name(columns.names[i]).unit_exponent)) {
    return std::nullopt;
  }
  Error error{ErrorCode::kBadData,
              "found " + shown_text(columns.names[i]) +
                  " as the only column beside the time, which " +
                  (counts ? "counts the rows" : "holds times by its name") +
                  ", expected a channel",
              "if every row is one edge, state --time-column " +
                  columns.names[*columns.time] +
                  " and --edges rising, or both-rise-first or "
                  "both-fall-first"};
  error.byte = static_cast<std::int64_t>(survey.rows[0].byte);
  return error;
}

}  // namespace

bool counts_rows(const CsvSurvey& survey, std::size_t column) {
  if (survey.rows.size() < 3) return false;
  std::optional<std::int64_t> next;
  for (const SurveyRow& row : survey.rows) {
    const auto stamp = parse_stamp(row.cells[column], '.');
    const auto number = stamp ? stamp_ticks(*stamp, 0) : std::nullopt;
    if (!number || (next && *number != *next)) return false;
    next = *number + 1;
  }
  return true;
}

std::optional<std::string> asked_for_by(const CsvLayout& csv,
                                        std::string_view late) {
  std::vector<std::string> names = csv.layout.channel_names;
  names.emplace_back(late);
  for (const std::string& asked : csv.asked) {
    const auto meant = matching_channels(names, asked);
    if (!meant.empty() && meant.back() == names.size() - 1) return asked;
  }
  return std::nullopt;
}

Result<void> choose_channels(const ReadOptions& options,
                             const CsvSurvey& survey, std::string_view text,
                             bool all, CsvLayout& csv) {
  csv.asked = options.channels;
  if (csv.columns.lone) return choose_lone(options, csv);
  if (auto error = refuse_long_form(survey, text, csv, options)) {
    return tl::unexpected<Error>(std::move(*error));
  }
  if (auto error = refuse_edges_beside(survey, text, csv, options)) {
    return tl::unexpected<Error>(std::move(*error));
  }
  if (csv.columns.event_level && !options.csv.rows) {
    if (auto error = refuse_levels_as_names(survey, text, csv)) {
      return tl::unexpected<Error>(std::move(*error));
    }
  }
  std::vector<FirstCells> cells = csv.columns.event_level
                                      ? cells_by_event(survey, text, csv)
                                      : cells_by_column(survey, text, csv);
  if (csv.columns.event_level && !all) add_expected(options, cells, csv);
  auto values =
      read_value_columns(cells, csv.decimal_mark, options, csv.layout);
  if (!values) return tl::unexpected<Error>(std::move(values.error()));
  csv.values = *std::move(values);
  for (std::size_t i = 0; i < cells.size(); ++i) {
    if (!csv.columns.event_level || !cells[i].cells.empty()) continue;
    for (const ValueTarget& target : csv.values[i].targets) {
      csv.layout.selected[target.slot].may_be_absent = true;
    }
  }
  if (!csv.columns.event_level) warn_of_other_times(survey, csv);
  return {};
}

}  // namespace clockassay
