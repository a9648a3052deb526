// SPDX-License-Identifier: GPL-3.0-or-later
#include "clockassay/base/decimal_text.h"

#include <cstddef>
#include <cstdint>

#include "base/ascii_digit.h"
#include "clockassay/base/units.h"

namespace clockassay {
namespace {

// Longest text read, bytes. Chosen: far above the 38 digits a Rational can
// hold, far below where the count of digits could overflow an int.
constexpr std::size_t kLongestText = 1000;

// Largest exponent read. Chosen: Rational ends at 10^37 and Ticks at 10^18, so
// any larger exponent belongs to a value out of range.
constexpr int kLargestExponent = 9999;

// Takes a sign off the front; true when it was a minus.
bool take_sign(std::string_view& text) {
  if (text.empty() || (text[0] != '+' && text[0] != '-')) return false;
  const bool minus = text[0] == '-';
  text.remove_prefix(1);
  return minus;
}

// Zeros at the end are counted apart, so that writing more never overflows.
template <class Digits>
bool append(DecimalText<Digits>& number, char c) {
  if (c == '0') {
    if (number.count > 0) ++number.zeros;
    return true;
  }
  number.count += number.zeros + 1;
  for (; number.zeros > 0; --number.zeros) {
    if (__builtin_mul_overflow(number.digits, 10, &number.digits)) return false;
  }
  return !__builtin_mul_overflow(number.digits, 10, &number.digits) &&
         !__builtin_add_overflow(number.digits, c - '0', &number.digits);
}

std::optional<int> scan_exponent(std::string_view text) {
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

}  // namespace

template <class Digits>
std::optional<DecimalText<Digits>> scan_decimal(std::string_view text,
                                                char mark) {
  if (text.size() > kLongestText) return std::nullopt;
  DecimalText<Digits> number;
  number.negative = take_sign(text);
  bool any_digit = false;
  bool after_mark = false;
  int fraction_digits = 0;
  std::size_t i = 0;
  for (; i < text.size(); ++i) {
    if (is_digit(text[i])) {
      any_digit = true;
      if (after_mark) ++fraction_digits;
      if (!append(number, text[i])) return std::nullopt;
    } else if (text[i] == mark && !after_mark) {
      after_mark = true;
    } else {
      break;
    }
  }
  if (!any_digit) return std::nullopt;
  int exponent = 0;
  if (i < text.size()) {
    if (text[i] != 'e' && text[i] != 'E') return std::nullopt;
    const std::optional<int> read = scan_exponent(text.substr(i + 1));
    if (!read) return std::nullopt;
    exponent = *read;
  }
  number.last_place = exponent - fraction_digits;
  return number;
}

template std::optional<DecimalText<std::uint64_t>> scan_decimal(
    std::string_view text, char mark);
template std::optional<DecimalText<Int128>> scan_decimal(std::string_view text,
                                                         char mark);

}  // namespace clockassay
