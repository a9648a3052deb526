// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <cstddef>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "capture/csv_column_name.h"
#include "clockassay/base/result.h"
#include "clockassay/capture/read_options.h"

namespace clockassay {

/// What a time in the rows counts.
enum class CsvTimeBase {
  kSeconds,
  kSamples,    ///< numbers of samples
  kRowNumber,  ///< there is no time column: a row is a sample
};

/// What the columns of the rows are.
struct CsvColumns {
  std::vector<std::string> names;   ///< of all; a column without is "column 3"
  std::vector<std::string> units;   ///< of a unit row; else empty
  std::optional<std::size_t> time;  ///< absent for kRowNumber
  CsvTimeBase base = CsvTimeBase::kSeconds;
  /// Times are in 10^this seconds, or samples; absent: the cells say it.
  std::optional<int> unit_exponent;
  std::string unit_because;          ///< how the unit is known
  bool unit_overridden = false;      ///< the header states another one
  std::string time_because;          ///< how the time column is known
  bool times_are_steps = false;      ///< from the row before
  std::optional<LoneEdges> lone;     ///< one column, of the times of edges
  std::vector<std::size_t> values;   ///< columns that are channels; in the long
                                     ///< form those of channel and level
  std::vector<std::size_t> ignored;  ///< neither
  /// In the long form: which column names the channel, which has its level.
  std::optional<std::size_t> event_channel;
  std::optional<std::size_t> event_level;
  /// The column that is called channel or the like, in a table that is not
  /// known to be of the long form.
  std::optional<std::size_t> may_name_channel;
  /// Rows may end in a separator, after which there is no column.
  bool trailing_separator = false;

  std::size_t cells() const { return names.size(); }
};

/// The header of a table as it is written.
struct HeaderCells {
  std::vector<std::string> names;  ///< empty: there is no header row
  std::vector<std::string> units;  ///< of a unit row, if there is one
  std::size_t columns = 0;         ///< that the first row has
};

/// Nothing about time is guessed: where its column, its unit, whether it is
/// since the row before, and the kind of lone edges are not written in the
/// header, they must be stated.
/// Errors: kBadData without a place; the hint names the option.
Result<CsvColumns> read_csv_columns(const HeaderCells& header,
                                    const CsvOptions& options);

/// Which column --time-column means: a number counts from 1, else a name,
/// whole or without its unit. nullopt when there is none.
std::optional<std::size_t> stated_time_column(
    const std::vector<std::string>& names, std::size_t columns,
    std::string_view stated);

}  // namespace clockassay
