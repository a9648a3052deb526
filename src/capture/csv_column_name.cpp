// SPDX-License-Identifier: GPL-3.0-or-later
#include "capture/csv_column_name.h"

#include "capture/csv_cells.h"
#include "clockassay/base/letter_case.h"

namespace clockassay {
namespace {

constexpr std::string_view kTimeNames[] = {
    "time", "times", "t", "timestamp", "timestamps", "elapsed", "elapsedtime"};
constexpr std::string_view kStepNames[] = {"dt",
                                           "delta",
                                           "deltat",
                                           "deltatime",
                                           "timedelta",
                                           "timediff",
                                           "timedifference",
                                           "timestep",
                                           "timesincelast",
                                           "timesinceprevious",
                                           "sinceprevious",
                                           "sincelast"};
constexpr std::string_view kSampleNames[] = {
    "sample",   "samples",     "samplenumber", "samplenr",
    "sampleno", "sampleindex", "samplecount",  "index",
    "idx",      "row",         "rownumber"};
constexpr std::string_view kRisingNames[] = {"rising", "risingedge",
                                             "risingedges"};
constexpr std::string_view kEdgeNames[] = {"edge", "edges", "edgetime",
                                           "edgetimes"};

}  // namespace

std::string plain_name(std::string_view text) {
  std::string name;
  for (const char c : text) {
    if (std::string_view(" _-#.").find(c) != std::string_view::npos) continue;
    name += lower_letter(c);
  }
  return name;
}

NameAndUnit split_unit(std::string_view cell) {
  std::size_t open = std::string_view::npos;
  std::size_t close = cell.size();
  if (cell.ends_with(')') || cell.ends_with(']')) {
    open = cell.rfind(cell.back() == ')' ? '(' : '[');
    --close;
  } else {
    open = cell.find_last_of("/_,");
  }
  if (open != std::string_view::npos) {
    const auto exponent =
        time_unit_exponent(trim_cell(cell.substr(open + 1, close - open - 1)));
    if (exponent) return {plain_name(cell.substr(0, open)), exponent};
  }
  return {plain_name(cell), std::nullopt};
}

ColumnName column_name(std::string_view text) {
  NameAndUnit split = split_unit(text);
  ColumnName name;
  name.unit_exponent = split.exponent;
  if (is_one_of(split.name, kTimeNames)) {
    name.meaning = ColumnMeaning::kTime;
  } else if (is_one_of(split.name, kStepNames)) {
    name.meaning = ColumnMeaning::kStep;
  } else if (is_one_of(split.name, kSampleNames)) {
    name.meaning = ColumnMeaning::kSampleCount;
  } else if (is_one_of(split.name, kRisingNames)) {
    name.meaning = ColumnMeaning::kRising;
  } else if (is_one_of(split.name, kEdgeNames)) {
    name.meaning = ColumnMeaning::kEdges;
  }
  return name;
}

}  // namespace clockassay
