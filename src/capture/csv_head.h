// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <cstddef>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "capture/csv_cells.h"
#include "capture/csv_header.h"
#include "clockassay/base/rational.h"
#include "clockassay/base/result.h"
#include "clockassay/capture/read_options.h"

namespace clockassay {

/// What is above the rows, and how lines are divided.
struct CsvHead {
  char line_end = '\n';
  char separator = ',';
  std::string separator_because;
  /// The header row; absent: the rows begin at once.
  std::optional<CsvLine> header;
  HeaderCells cells;
  std::string header_because;
  std::size_t body = 0;                    ///< where the rows begin
  bool has_row = false;                    ///< a line of data was seen
  std::optional<Rational> sample_rate_hz;  ///< stated above the header
  std::size_t sample_rate_byte = 0;        ///< of the line that states it
  std::string sample_rate_because;         ///< "stated in line 3"
  /// What is stated there where --sample-rate overrides it; the first such.
  std::optional<Rational> overridden_rate_hz;
  /// Lines above the header, and what was taken from them.
  std::vector<ReadingFact> preamble;
};

/// LF unless the text holds CRs but no LF.
char line_end_of(std::string_view text, bool all);

/// Finds the header row: the first that names a time column and is followed by
/// a row of units or a number in that column; else the one before the first
/// rows with numbers. Above it stand comments, blank lines and lines of keys
/// and values, of which one may state the sample rate.
/// `all`: the text is all there is; else an incomplete last line does not
/// count. nullopt: no rows yet, more must be seen.
/// Errors: kBadData with the byte.
Result<std::optional<CsvHead>> read_csv_head(std::string_view text, bool all,
                                             const ReadOptions& options);

}  // namespace clockassay
