// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <optional>
#include <string_view>

namespace clockassay {

/// A decimal number as written, exactly: ±digits * 10^(last_place + zeros).
template <class Digits>
struct DecimalText {
  bool negative = false;
  Digits digits = 0;   ///< significant ones, ending in one that is not 0
  int count = 0;       ///< how many these are; 0 for zero
  int zeros = 0;       ///< written after them
  int last_place = 0;  ///< power of ten of the last written digit

  /// Power of ten of the last digit that is not 0.
  int last_nonzero_place() const { return last_place + zeros; }
  /// Power of ten of the first digit that is not 0.
  int first_place() const {
    return last_nonzero_place() + (count == 0 ? 0 : count - 1);
  }
};

/// Reads [+-]digits[mark digits][(e|E)[+-]digits] spanning the whole text,
/// ASCII only, independent of the locale. nullopt when the text is anything
/// else, or too long for Digits, which is std::uint64_t or Int128.
template <class Digits>
std::optional<DecimalText<Digits>> scan_decimal(std::string_view text,
                                                char mark);

}  // namespace clockassay
