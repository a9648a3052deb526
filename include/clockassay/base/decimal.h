// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <optional>
#include <string_view>

#include "clockassay/base/rational.h"

namespace clockassay {

/// A decimal number as written: value = digits * 10^exponent, exactly.
struct Decimal {
  Rational value;
  int last_place = 0;  ///< power of ten of the last written digit
};

/// Reads [+-]digits[.digits][(e|E)[+-]digits] spanning the whole text, ASCII
/// only, independent of the locale. nullopt when the text is anything else or
/// the value leaves the range of Rational.
std::optional<Decimal> parse_decimal(std::string_view text);

}  // namespace clockassay
