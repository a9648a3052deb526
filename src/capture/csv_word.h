// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <cstdint>
#include <optional>
#include <string>
#include <string_view>

#include "clockassay/capture/level_event.h"

namespace clockassay {

/// Bits of a word that can be read.
inline constexpr int kMostWordBits = 64;

/// A word of packed bits, as a cell writes it.
struct PackedWord {
  std::uint64_t bits = 0;
  std::uint64_t unknown = 0;  ///< written x or z, or above such a first digit
  int width = 0;              ///< bits its digits stand for, at most 64

  Level level(int bit) const {
    const std::uint64_t mask = std::uint64_t{1} << bit;
    if ((unknown & mask) != 0) return Level::kUnknown;
    return (bits & mask) != 0 ? Level::kHigh : Level::kLow;
  }
};

/// The base a prefix states: 16 for 0x, 2 for 0b, else nullopt.
std::optional<int> word_prefix_radix(std::string_view cell);

/// Reads the whole cell as a word in base `radix` (2, 10 or 16), or in the base
/// its own prefix states. Hex and binary digits may be x or z, a decimal word
/// as a whole; bits above the first digit are 0, or unknown where it is x or z.
/// A decimal word is as wide as the next of 8, 16, 32, 64 bits. nullopt when
/// the cell is anything else, or has a bit beyond the 64th.
std::optional<PackedWord> parse_word(std::string_view cell, int radix);

/// What was expected in the place of a cell that is no word in base `radix`.
std::string expected_word(int radix);
inline constexpr const char* kOtherWordsHint =
    "say another base with --radix, or name other columns with --channel";

/// How to write a word that is written in a form that is not read, such as 24h,
/// 8'b0010 or 0010 1100; empty: it is none.
std::string unread_word_hint(std::string_view cell);

/// The same, also for a negative number; for a column known to hold words.
std::string no_word_hint(std::string_view cell);

/// Whether a cell whose base no prefix is known to state may be a word in base
/// 2 with unknown bits, and one in base 16 with a prefix: 0x01.
bool may_be_prefix_or_bits(std::string_view cell);

}  // namespace clockassay
