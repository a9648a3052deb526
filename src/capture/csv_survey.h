// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <cstddef>
#include <cstdint>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "capture/csv_cells.h"
#include "capture/csv_layout.h"
#include "capture/csv_split.h"
#include "clockassay/base/result.h"

namespace clockassay {

/// One of the first rows. Views are into the text.
struct SurveyRow {
  std::size_t byte = 0;
  std::vector<std::string_view> cells;  ///< as split_cells gives them
  CellTime time;                        ///< not for CsvTimeBase::kRowNumber
  int decimals = 0;                     ///< digits after the decimal mark
  bool has_exponent = false;            ///< or a unit
  bool changes = false;                 ///< see mark_changes()
};

/// What the first rows show about how they are written.
struct CsvSurvey {
  std::vector<SurveyRow> rows;
  char decimal_mark = '.';
  std::string decimal_because;
  int tick_exponent = 0;
  std::int64_t ticks_per_row_tick = 1;
  std::vector<std::int64_t> times;          ///< of the rows [ticks]
  std::int64_t resolution_ticks = 1;        ///< of the text, of these rows
  std::optional<std::int64_t> float_ticks;  ///< see binary_step()
  std::string float_reason;
  std::optional<int> fixed_decimals;
};

/// The cells of a data row, without the empty one a trailing separator makes.
CellFault split_row(std::string_view line, const CsvLayout& csv,
                    std::vector<std::string_view>& cells);

/// The complete rows of `text` from `body` on, up to the first that cannot be
/// read: that one is left for the parser to report. `csv` has the separator
/// and the columns. Sets rows, times and all that is about them.
/// Errors: kBadData with the byte: times that do not fit in 64 bits or are all
///         equal, a decimal mark that may group digits; kUsage: no such tick.
Result<CsvSurvey> survey_rows(std::string_view text, std::size_t body, bool all,
                              const CsvLayout& csv, const ReadOptions& options);

/// Sets which rows change something: the first, and those in which a column of
/// logic, read or not, is neither empty nor what it was. Where no column is
/// logic, all beside the time count. A voltage nobody reads differs in every
/// row, which says nothing: if rows at a constant step are taken for samples,
/// their step is no shorter than the sampler's.
void mark_changes(const CsvLayout& csv, CsvSurvey& survey);

}  // namespace clockassay
