// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <cstddef>
#include <cstdint>
#include <optional>
#include <string_view>

#include "capture/csv_layout.h"
#include "clockassay/base/result.h"

namespace clockassay {

/// The separator most of the first data lines hold: a tab before a semicolon
/// before a comma, since a comma may be a decimal mark beside the others.
/// nullopt when most hold none.
std::optional<char> vote_separator(std::string_view text, std::size_t body,
                                   bool all);
/// The separator a header row holds, by the same order; else a comma.
char separator_in(std::string_view header);

/// What the first rows show about how times are written.
struct CsvSurvey {
  std::int64_t rows = 0;  ///< looked at
  char decimal_mark = '.';
  int tick_exponent = 0;
  std::optional<std::int64_t> row_step;
  std::optional<int> fixed_decimals;
};

/// Looks at the complete rows of `text` from `body` on, up to the first that
/// cannot be read: that one is left for the parser to report. `csv` has the
/// separator and the columns.
/// Errors: kBadData with the byte: times that do not fit in 64 bits, all equal.
Result<CsvSurvey> survey_rows(std::string_view text, std::size_t body, bool all,
                              const CsvLayout& csv);

}  // namespace clockassay
