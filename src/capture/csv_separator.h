// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <cstdint>
#include <optional>
#include <string_view>
#include <vector>

#include "capture/csv_cells.h"

namespace clockassay {

/// What most of the lines with numbers are separated by.
struct SeparatorVote {
  char separator = ',';
  std::int64_t votes = 0;
  std::int64_t lines = 0;  ///< that hold a number
};

/// The separator that leaves several cells, one of them a number, in most of
/// the lines that hold a number: a tab before a semicolon before a bar before a
/// comma, since a comma may be a decimal mark beside the others, before blanks,
/// which may stand beside any. nullopt when most hold none.
std::optional<SeparatorVote> vote_separator(const std::vector<CsvLine>& lines);

/// The separator a header row holds, by the same order; else a comma.
char separator_in(std::string_view header);

/// The separator a line `sep=;` at the beginning states.
std::optional<char> separator_line(std::string_view line);

}  // namespace clockassay
