// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <string>
#include <string_view>
#include <vector>

#include "clockassay/base/result.h"

namespace clockassay {

/// What the header row says. Nothing about time is guessed: its unit and, for
/// a lone column, the kind of edge must be written there.
struct CsvColumns {
  int unit_exponent = 0;            ///< times are in 10^this seconds
  bool rising_only = false;         ///< one column: every row is a rising edge
  std::vector<std::string> levels;  ///< the columns after the time; for
                                    ///< rising_only the one column's own name
  /// The header ends in a separator: rows may too.
  bool trailing_separator = false;

  /// Cells of a row, without the empty one a trailing separator makes.
  std::size_t cells() const { return rising_only ? 1 : levels.size() + 1; }
};

/// Reads a header row such as `time_s,clk` or `"Time [ns]";"CLK OUT"`.
/// Units: s, ms, us, µs, ns, ps, fs as `time_s`, `time (s)`, `time [s]` or
/// `t/s`. Names of the time: time, t, timestamp; rising or rising_edge alone.
/// Errors: kBadData without a place: no header, no unit, another order.
Result<CsvColumns> read_csv_columns(std::string_view line, char separator);

}  // namespace clockassay
