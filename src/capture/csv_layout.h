// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <cstddef>
#include <cstdint>
#include <functional>
#include <map>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "capture/csv_header.h"
#include "capture/csv_row_step.h"
#include "capture/csv_value_columns.h"
#include "clockassay/base/result.h"
#include "clockassay/capture/importer.h"

namespace clockassay {

/// How the rows of one file are written, as its header row and its first rows
/// show and the user states.
struct CsvLayout {
  Layout layout;
  CsvColumns columns;
  char line_end = '\n';
  char separator = ',';
  char decimal_mark = '.';
  /// A tick is 10^this seconds; or samples, where the times count samples.
  int tick_exponent = 0;
  /// How many ticks the finest digit of the rows is: more than one where edges
  /// are interpolated between rows.
  std::int64_t ticks_per_row_tick = 1;
  CsvRows rows = CsvRows::kChanges;
  /// How the cells of columns.values are read, in that order; in the long form
  /// those of each channel. Empty for a lone column.
  std::vector<ValueColumn> values;
  /// In the long form: where in `values` each channel is, by its name.
  std::map<std::string, std::size_t, std::less<>> events;
  /// The channels to be read, as the user names them: others may then come as
  /// they like.
  std::vector<std::string> asked;
  std::string header;  ///< the header row, trimmed; empty: none
  /// Rows are samples.
  std::optional<CsvRowStep> row_step;
  /// Decimals every stamp of the first rows has, if it is one number for all.
  std::optional<int> fixed_decimals;

  /// Whether a row needs something from the rows before it.
  bool is_stateful() const {
    return columns.base == CsvTimeBase::kRowNumber || columns.times_are_steps ||
           (columns.lone && *columns.lone != LoneEdges::kRising) ||
           has_analogue(values);
  }
};

/// Reads what is above the rows, and the first rows.
/// Looks at the same number of bytes however many are offered: 64 KiB, or
/// twice that as often as it takes to see a row.
/// Errors: kBadData with line and byte; needs_more when more must be offered.
Result<CsvLayout> read_csv_layout(std::string_view prefix, bool whole,
                                  const ReadOptions& options, bool& needs_more);

}  // namespace clockassay
