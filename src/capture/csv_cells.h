// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <cstddef>
#include <cstdint>
#include <optional>
#include <string>
#include <string_view>

#include "clockassay/base/decimal_text.h"

namespace clockassay {

/// Without blanks and tabs at either end.
std::string_view trim_cell(std::string_view cell);

/// A line of text without its line end.
struct CsvLine {
  std::string_view text;
  std::size_t begin = 0;  ///< position in what is being read
  std::size_t next = 0;   ///< where the next line begins
  bool ended = false;     ///< a line end follows
};

/// The line that begins at `at`; at < bytes.size(). Lines end in `line_end`,
/// LF or CR; a CR before an LF belongs to the line end.
CsvLine line_at(std::string_view bytes, std::size_t at, char line_end);

/// Whether a line carries no data, within the rows: blank or a comment.
bool is_blank_or_comment(std::string_view line);

/// A decimal number as a row writes it.
using StampText = DecimalText<std::uint64_t>;

/// Reads the whole cell as a decimal number of at most 19 significant digits,
/// `mark` being the decimal mark.
std::optional<StampText> parse_stamp(std::string_view cell, char mark);

/// The number in units of 10^exponent; nullopt when it is no whole number of
/// them or not within ±kMostTicks.
std::optional<std::int64_t> stamp_ticks(const StampText& stamp, int exponent);

/// A time as a cell writes it: in units of 10^unit.
struct CellTime {
  StampText stamp;
  int unit = 0;
};

/// The power of ten of a second that a unit of time is: s, ms, us, ns, ps, fs,
/// micro in three spellings, or a word such as "sec" or "nanoseconds".
std::optional<int> time_unit_exponent(std::string_view text);

/// Reads a cell as a number with or without a unit behind it. Without, it is in
/// `unit`; where that is absent too, only zero is a time.
std::optional<CellTime> parse_time_cell(std::string_view cell, char mark,
                                        std::optional<int> unit);

/// Whether the cell is a number, with either mark, with or without a unit.
bool is_number_cell(std::string_view cell);

/// Stamps stay within this, so that no difference of two can overflow, not even
/// with the tick that rising edges take before them.
inline constexpr std::int64_t kMostTicks = (std::int64_t{1} << 62) - 1;

/// How to write a number that is written in an unusual way: with a minus sign
/// or a blank of Unicode, digits grouped by _, a power of ten with d or 10^.
/// Empty: nothing of it was found.
std::string number_hint(std::string_view cell);

/// Why a cell that parse_stamp refuses may be as it is; for hints.
std::string stamp_hint(std::string_view cell);

}  // namespace clockassay
