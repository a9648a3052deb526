// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <optional>
#include <string>
#include <string_view>
#include <utility>

#include "clockassay/base/decimal_text.h"
#include "clockassay/base/units.h"
#include "clockassay/capture/level_event.h"

namespace clockassay {

/// What a level cell says. kUnchanged is an empty cell.
enum class CellLevel { kLow, kHigh, kUnknown, kUnchanged };

/// How a column writes its levels. A cell is trimmed and without quotes.
/// By itself: low, L, off, false and any spelling of exactly 0; high, H, on,
/// true and any spelling of exactly 1; in any case. A number of several digits
/// without a decimal mark or an exponent, such as 01, is none: it may be a word
/// of bits.
/// As the user says (CsvOptions::levels): the two texts, compared as they are,
/// numbers by their exact value; nothing else.
/// Either way x and z are unknown, and an empty cell is no change.
class LevelWords {
 public:
  using Pair = std::optional<std::pair<std::string, std::string>>;

  LevelWords() = default;
  /// `mark` is the decimal mark of the file.
  LevelWords(Pair stated, char mark) : stated_(std::move(stated)), mark_(mark) {
    take_numbers();
  }

  /// nullopt when the cell is no level.
  std::optional<CellLevel> parse(std::string_view cell) const {
    // Nearly all cells there are.
    if (!stated_ && cell.size() == 1 && (cell[0] == '0' || cell[0] == '1')) {
      return cell[0] == '1' ? CellLevel::kHigh : CellLevel::kLow;
    }
    return parse_other(cell);
  }
  /// Whether a level as written may be the first part of either text: "0.0" of
  /// "0.05" is one that parse() takes for 0. Of nothing, no change, it is not
  /// asked.
  bool may_be_cut(std::string_view cell) const {
    const auto begins = [cell](const std::string& text) {
      return text.size() > cell.size() && text.starts_with(cell);
    };
    return stated_ && !cell.empty() &&
           (begins(stated_->first) || begins(stated_->second));
  }
  /// What parse() accepts, as a message lists it after "expected".
  std::string expected() const;

 private:
  void take_numbers();
  std::optional<CellLevel> parse_other(std::string_view cell) const;
  bool means(std::string_view cell, const std::string& text,
             const std::optional<DecimalText<Int128>>& number) const;

  Pair stated_;
  char mark_ = '.';
  // The texts of stated_ that are numbers.
  std::optional<DecimalText<Int128>> low_number_;
  std::optional<DecimalText<Int128>> high_number_;
};

/// The level, for cells that do not say "as before".
Level level_of(CellLevel cell);

/// Whether an instrument so says that its range was exceeded.
bool is_infinity(std::string_view cell);

/// The way out for a cell that is no level.
std::string level_hint_for(std::string_view cell, char mark);

}  // namespace clockassay
