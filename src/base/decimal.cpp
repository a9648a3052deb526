// SPDX-License-Identifier: GPL-3.0-or-later
#include "clockassay/base/decimal.h"

#include "clockassay/base/decimal_text.h"

namespace clockassay {
namespace {

std::optional<Rational> scale_by_ten(Rational value, int exponent) {
  std::optional<Rational> scaled = value;
  for (; scaled && exponent > 0; --exponent) scaled = multiply(*scaled, 10);
  for (; scaled && exponent < 0; ++exponent) scaled = divide(*scaled, 10);
  return scaled;
}

}  // namespace

std::optional<Decimal> parse_decimal(std::string_view text) {
  const auto number = scan_decimal<Int128>(text, '.');
  if (!number) return std::nullopt;
  Decimal result;
  result.last_place = number->last_place;
  if (number->digits == 0) return result;
  const std::optional<Rational> whole =
      Rational::make(number->negative ? -number->digits : number->digits, 1);
  if (!whole) return std::nullopt;
  const std::optional<Rational> value =
      scale_by_ten(*whole, number->last_nonzero_place());
  if (!value) return std::nullopt;
  result.value = *value;
  return result;
}

}  // namespace clockassay
