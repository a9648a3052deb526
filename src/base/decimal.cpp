// SPDX-License-Identifier: GPL-3.0-or-later
#include "clockassay/base/decimal.h"

#include <cstddef>

namespace clockassay {
namespace {

// Longest text read, bytes. Chosen: far above the 38 digits a Rational can
// hold, far below where the count of digits could overflow an int.
constexpr std::size_t kLongestText = 1000;

// Largest exponent read. Chosen: Rational ends at 10^37, so any larger
// exponent belongs to a value out of range.
constexpr int kLargestExponent = 9999;

bool is_digit(char c) {
  return c >= '0' && c <= '9';
}

// Takes a sign off the front; true when it was a minus.
bool take_sign(std::string_view& text) {
  if (text.empty() || (text[0] != '+' && text[0] != '-')) return false;
  const bool minus = text[0] == '-';
  text.remove_prefix(1);
  return minus;
}

// An integer of significant digits: its trailing zeros are counted apart, so
// that writing more of them never overflows.
struct Significand {
  Int128 digits = 0;
  int zeros = 0;

  bool append(char c) {
    if (digits == 0 && c == '0') return true;
    if (c == '0') {
      ++zeros;
      return true;
    }
    for (; zeros > 0; --zeros) {
      if (__builtin_mul_overflow(digits, 10, &digits)) return false;
    }
    return !__builtin_mul_overflow(digits, 10, &digits) &&
           !__builtin_add_overflow(digits, c - '0', &digits);
  }
};

std::optional<int> parse_exponent(std::string_view text) {
  const bool minus = take_sign(text);
  if (text.empty()) return std::nullopt;
  int value = 0;
  for (char c : text) {
    if (!is_digit(c)) return std::nullopt;
    value = value * 10 + (c - '0');
    if (value > kLargestExponent) return std::nullopt;
  }
  return minus ? -value : value;
}

std::optional<Rational> scale_by_ten(Rational value, int exponent) {
  std::optional<Rational> scaled = value;
  for (; scaled && exponent > 0; --exponent) scaled = multiply(*scaled, 10);
  for (; scaled && exponent < 0; ++exponent) scaled = divide(*scaled, 10);
  return scaled;
}

}  // namespace

std::optional<Decimal> parse_decimal(std::string_view text) {
  if (text.size() > kLongestText) return std::nullopt;
  const bool minus = take_sign(text);
  Significand significand;
  bool any_digit = false;
  bool after_point = false;
  int fraction_digits = 0;
  std::size_t i = 0;
  for (; i < text.size(); ++i) {
    if (text[i] == '.' && !after_point) {
      after_point = true;
    } else if (is_digit(text[i])) {
      any_digit = true;
      if (after_point) ++fraction_digits;
      if (!significand.append(text[i])) return std::nullopt;
    } else {
      break;
    }
  }
  if (!any_digit) return std::nullopt;
  int exponent = 0;
  if (i < text.size()) {
    if (text[i] != 'e' && text[i] != 'E') return std::nullopt;
    const std::optional<int> read = parse_exponent(text.substr(i + 1));
    if (!read) return std::nullopt;
    exponent = *read;
  }
  Decimal result;
  result.last_place = exponent - fraction_digits;
  if (significand.digits == 0) return result;
  const std::optional<Rational> whole =
      Rational::make(minus ? -significand.digits : significand.digits, 1);
  if (!whole) return std::nullopt;
  const std::optional<Rational> value =
      scale_by_ten(*whole, result.last_place + significand.zeros);
  if (!value) return std::nullopt;
  result.value = *value;
  return result;
}

}  // namespace clockassay
