// SPDX-License-Identifier: GPL-3.0-or-later
#include "capture/csv_levels.h"

#include <algorithm>

#include "capture/csv_word.h"
#include "capture/shown_text.h"
#include "clockassay/base/letter_case.h"
#include "clockassay/base/units.h"

namespace clockassay {
namespace {

constexpr std::string_view kLowWords[] = {"0", "l", "low", "off", "false"};
constexpr std::string_view kHighWords[] = {"1", "h", "high", "on", "true"};
constexpr std::string_view kUnknownWords[] = {"x", "z"};
constexpr std::string_view kEdgeWords[] = {"rising", "falling", "rise", "fall",
                                           "r",      "f",       "up",   "down"};

using Number = DecimalText<Int128>;

template <class Words>
bool is_one_of(std::string_view cell, const Words& words) {
  return std::any_of(std::begin(words), std::end(words), [cell](auto word) {
    return equals_ignoring_case(cell, word);
  });
}

bool equal(const Number& a, const Number& b) {
  return a.digits == b.digits &&
         (a.digits == 0 || (a.negative == b.negative &&
                            a.last_nonzero_place() == b.last_nonzero_place()));
}

// Several digits and nothing else.
bool may_be_bits(std::string_view cell) {
  return cell.size() > 1 &&
         cell.find_first_not_of("0123456789") == std::string_view::npos;
}

}  // namespace

void LevelWords::take_numbers() {
  if (!stated_) return;
  low_number_ = scan_decimal<Int128>(stated_->first, mark_);
  high_number_ = scan_decimal<Int128>(stated_->second, mark_);
}

bool LevelWords::means(std::string_view cell, const std::string& text,
                       const std::optional<Number>& number) const {
  if (cell == text) return true;
  if (!number) return false;
  const auto value = scan_decimal<Int128>(cell, mark_);
  return value && equal(*value, *number);
}

std::optional<CellLevel> LevelWords::parse_other(std::string_view cell) const {
  if (cell.empty()) return CellLevel::kUnchanged;
  if (stated_) {
    if (means(cell, stated_->first, low_number_)) return CellLevel::kLow;
    if (means(cell, stated_->second, high_number_)) return CellLevel::kHigh;
  } else {
    if (is_one_of(cell, kLowWords)) return CellLevel::kLow;
    if (is_one_of(cell, kHighWords)) return CellLevel::kHigh;
    if (const auto value = scan_decimal<Int128>(cell, mark_);
        value && !may_be_bits(cell)) {
      if (value->digits == 0) return CellLevel::kLow;
      if (value->digits == 1 && !value->negative &&
          value->last_nonzero_place() == 0) {
        return CellLevel::kHigh;
      }
    }
  }
  if (is_one_of(cell, kUnknownWords)) return CellLevel::kUnknown;
  return std::nullopt;
}

std::string LevelWords::expected() const {
  if (stated_) {
    return "a level: " + shown_text(stated_->first) + ", " +
           shown_text(stated_->second) + ", x, z or nothing";
  }
  return "a level: 0, 1, low, high, L, H, off, on, false, true, x, z or "
         "nothing";
}

Level level_of(CellLevel cell) {
  switch (cell) {
    case CellLevel::kLow:
      return Level::kLow;
    case CellLevel::kHigh:
      return Level::kHigh;
    case CellLevel::kUnknown:
    case CellLevel::kUnchanged:
      break;
  }
  return Level::kUnknown;
}

bool is_infinity(std::string_view cell) {
  if (cell.starts_with('+') || cell.starts_with('-')) cell.remove_prefix(1);
  return equals_ignoring_case(cell, "inf") ||
         equals_ignoring_case(cell, "infinity");
}

std::string level_hint_for(std::string_view cell, char mark) {
  constexpr const char* kPair =
      "if the column knows only two values, say which is low and which is high "
      "with --levels LOW,HIGH";
  if (is_one_of(cell, kEdgeWords)) {
    return std::string("the name of an edge is no level; ") + kPair;
  }
  if (std::string hint = unread_word_hint(cell); !hint.empty()) return hint;
  if (scan_decimal<Int128>(cell, mark)) {
    return std::string(kPair) +
           "; if it holds voltages, where it turns with --threshold VOLTS; if "
           "it holds words, their --radix and a bit, such as --channel data[0]";
  }
  return kPair;
}

}  // namespace clockassay
