// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <cstddef>
#include <optional>
#include <string>
#include <string_view>
#include <utility>
#include <vector>

#include "capture/csv_levels.h"
#include "clockassay/base/result.h"

namespace clockassay {

struct FirstCells;

/// What the first cells of a column look like.
enum class ColumnLook {
  kLevels,    ///< levels, or nothing at all
  kPair,      ///< two values at most, and not levels by themselves
  kNumbers,   ///< decimal numbers with a sign, a decimal mark or an exponent
  kIntegers,  ///< digits: words in some base, or numbers
  kWords,     ///< words whose prefix states the base
  kText,      ///< anything else
};

struct ColumnAppearance {
  ColumnLook look = ColumnLook::kLevels;
  LevelWords words;          ///< of kLevels
  bool some_levels = false;  ///< at least one cell that is not empty is a level
  bool mostly_numbers = false;
  /// Cells that decimal words may not begin with, such as 01.
  bool leading_zeros = false;
  /// At least one cell may be a word of which some digits are x or z.
  bool unknown_digits = false;
  /// Of 2, 10 and 16 the least base in which all cells may be words.
  int least_radix = 2;
  std::optional<std::size_t> first_odd;  ///< the first cell that is no level
  std::vector<std::string_view> values;  ///< up to three different texts
};

/// Looks at all cells. Empty ones do not count.
ColumnAppearance look_at_column(
    const FirstCells& column, char mark,
    const std::optional<std::pair<std::string, std::string>>& stated);

/// The bases that its cells may be words in, such as "--radix 10 or 16".
std::string radix_option(const ColumnAppearance& seen);

/// "--levels LOW,HIGH" for a column of two values: the smaller number first, or
/// the word for low where it is a known one.
std::string levels_option(const ColumnAppearance& seen, char mark);

/// Why a column of this look, which is not levels, cannot be read as levels,
/// and the options that let it be read. Without a place.
Error refuse_look(const FirstCells& column, const ColumnAppearance& seen,
                  char mark);

}  // namespace clockassay
