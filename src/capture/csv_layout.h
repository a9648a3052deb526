// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <cstddef>
#include <cstdint>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "capture/csv_header.h"
#include "clockassay/base/result.h"
#include "clockassay/capture/importer.h"

namespace clockassay {

/// How the rows of one file are written, as its header row and its first rows
/// show.
struct CsvLayout {
  Layout layout;
  CsvColumns columns;
  char separator = ',';
  char decimal_mark = '.';
  int tick_exponent = 0;   ///< a tick is 10^this seconds
  std::vector<int> slots;  ///< per level column: in Layout::selected,
                           ///< or -1 where it is not
  std::string header;      ///< the header row, trimmed
  /// Rows are samples: every step between two is this [ticks].
  std::optional<std::int64_t> row_step;
  /// Decimals every stamp of the first rows has, if it is one number for all.
  std::optional<int> fixed_decimals;
};

/// The cells of a data row, trimmed; quotes have no meaning there. The empty
/// one after a trailing separator is left out where the header ends so too.
void split_row(std::string_view line, const CsvLayout& csv,
               std::vector<std::string_view>& cells);

/// Reads the preamble, the header row and the first rows.
/// Looks at the same number of bytes however many are offered: 64 KiB, or
/// twice that as often as it takes to see a row.
/// Errors: kBadData with line and byte; needs_more when more must be offered.
Result<CsvLayout> read_csv_layout(std::string_view prefix, bool whole,
                                  const ReadOptions& options, bool& needs_more);

}  // namespace clockassay
