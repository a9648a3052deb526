// SPDX-License-Identifier: GPL-3.0-or-later
#include "capture/exact_seconds.h"

namespace clockassay {
namespace {

// Whether 1/den has an end in decimal digits.
bool is_decimal(Int128 den) {
  while (den % 2 == 0) den /= 2;
  while (den % 5 == 0) den /= 5;
  return den == 1;
}

// Denominators up to here can be multiplied by ten.
constexpr Int128 kLargestDen = Int128{1} << 123;

}  // namespace

std::string exact_seconds(Ticks time, const Rational& tick_s) {
  const auto seconds = multiply(Rational(time.count()), tick_s);
  if (!seconds) {
    return std::to_string(time.count()) + " * " + tick_s.to_string();
  }
  const Int128 den = seconds->den();
  if (den == 1 || den > kLargestDen || !is_decimal(den)) {
    return seconds->to_string();
  }
  const bool negative = seconds->sign() < 0;
  const Int128 num = negative ? -seconds->num() : seconds->num();
  const auto whole = Rational::make(num / den, 1);
  std::string text = (negative ? "-" : "") + whole->to_string() + ".";
  for (Int128 rest = num % den; rest != 0; rest %= den) {
    rest *= 10;
    text += static_cast<char>('0' + static_cast<int>(rest / den));
  }
  return text;
}

}  // namespace clockassay
