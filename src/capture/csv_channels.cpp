// SPDX-License-Identifier: GPL-3.0-or-later
#include "capture/csv_channels.h"

#include <algorithm>
#include <optional>
#include <string>
#include <utility>
#include <vector>

#include "capture/channel_selection.h"
#include "capture/csv_levels.h"
#include "capture/csv_other_times.h"
#include "capture/csv_value_columns.h"
#include "capture/csv_voltage_unit.h"
#include "capture/shown_text.h"

namespace clockassay {
namespace {

Result<void> choose_lone(const ReadOptions& options, CsvLayout& csv) {
  const std::vector<std::string>& names = csv.columns.names;
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

std::vector<FirstCells> cells_by_column(const CsvSurvey& survey,
                                        std::string_view text,
                                        const CsvLayout& csv) {
  std::vector<FirstCells> columns;
  for (const std::size_t i : csv.columns.values) {
    FirstCells column{csv.columns.names[i], {}, volts_of(csv.columns, i)};
    for (const SurveyRow& row : survey.rows) {
      column.cells.push_back(first_cell(row.cells[i], text));
    }
    columns.push_back(std::move(column));
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
  error.byte = static_cast<std::int64_t>(cell.data() - text.data());
  return error;
}

}  // namespace

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
