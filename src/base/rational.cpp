// SPDX-License-Identifier: GPL-3.0-or-later
#include "clockassay/base/rational.h"

#include <algorithm>
#include <cmath>
#include <limits>
#include <string>

namespace clockassay {
namespace {

__extension__ typedef unsigned __int128 UInt128;

// Magnitudes stay below this, so that a sum of two never overflows Int128.
constexpr UInt128 kLimit = static_cast<UInt128>(1) << 126;

UInt128 magnitude(Int128 x) {
  // Negating in the unsigned type is right for the most negative value too.
  return x < 0 ? -static_cast<UInt128>(x) : static_cast<UInt128>(x);
}

UInt128 gcd(UInt128 a, UInt128 b) {
  while (b != 0) {
    const UInt128 rest = a % b;
    a = b;
    b = rest;
  }
  return a;
}

// gcd of a numerator and a denominator of two values in range.
Int128 common_factor(Int128 a, Int128 b) {
  return static_cast<Int128>(gcd(magnitude(a), magnitude(b)));
}

// Quotient rounded towards minus infinity and its remainder in [0, den).
struct FloorDivision {
  Int128 quotient;
  Int128 rest;
};

FloorDivision floor_divide(Int128 num, Int128 den) {
  FloorDivision d{num / den, num % den};
  if (d.rest < 0) {
    d.quotient -= 1;
    d.rest += den;
  }
  return d;
}

std::string decimal_digits(Int128 value) {
  UInt128 rest = magnitude(value);
  std::string text;
  do {
    text.push_back(static_cast<char>('0' + static_cast<int>(rest % 10)));
    rest /= 10;
  } while (rest != 0);
  if (value < 0) text.push_back('-');
  std::reverse(text.begin(), text.end());
  return text;
}

}  // namespace

std::optional<Rational> Rational::make(Int128 num, Int128 den) {
  if (den == 0) return std::nullopt;
  UInt128 top = magnitude(num);
  UInt128 bottom = magnitude(den);
  const UInt128 factor = gcd(top, bottom);
  top /= factor;
  bottom /= factor;
  if (top >= kLimit || bottom >= kLimit) return std::nullopt;
  Rational result;
  result.num_ = static_cast<Int128>(top);
  if ((num < 0) != (den < 0)) result.num_ = -result.num_;
  result.den_ = static_cast<Int128>(bottom);
  return result;
}

double Rational::to_double() const {
  // Of doubles themselves the quotient is rounded once.
  constexpr auto kExact = static_cast<UInt128>(1)
                          << std::numeric_limits<double>::digits;
  if (magnitude(num_) <= kExact && magnitude(den_) <= kExact) {
    return static_cast<double>(num_) / static_cast<double>(den_);
  }
  const UInt128 den = static_cast<UInt128>(den_);
  UInt128 quotient = magnitude(num_) / den;
  UInt128 rest = magnitude(num_) % den;
  if (num_ == 0) return 0.0;
  // Two bits more than a double holds, and a sticky bit for all that follow:
  // then the one rounding, in the conversion below, sees what the exact value
  // would show it.
  constexpr UInt128 kEnough = static_cast<UInt128>(1)
                              << (std::numeric_limits<double>::digits + 2);
  int exponent = 0;
  while (quotient < kEnough) {
    rest <<= 1;  // rest < den < 2^126, so this fits
    quotient <<= 1;
    if (rest >= den) {
      rest -= den;
      quotient |= 1;
    }
    --exponent;
  }
  if (rest != 0) quotient |= 1;
  const double size = std::ldexp(static_cast<double>(quotient), exponent);
  return num_ < 0 ? -size : size;
}

std::string Rational::to_string() const {
  std::string text = decimal_digits(num_);
  if (den_ != 1) text += "/" + decimal_digits(den_);
  return text;
}

std::strong_ordering operator<=>(const Rational& a, const Rational& b) {
  Int128 a_num = a.num_;
  Int128 a_den = a.den_;
  Int128 b_num = b.num_;
  Int128 b_den = b.den_;
  while (true) {
    const FloorDivision x = floor_divide(a_num, a_den);
    const FloorDivision y = floor_divide(b_num, b_den);
    if (x.quotient != y.quotient) return x.quotient <=> y.quotient;
    if (x.rest == 0 || y.rest == 0) return x.rest <=> y.rest;
    // rest/den of a against that of b is den/rest of b against that of a.
    a_num = b_den;
    b_num = a_den;
    a_den = y.rest;
    b_den = x.rest;
  }
}

std::optional<Rational> add(const Rational& a, const Rational& b) {
  // Whole and fractional parts apart: large values that nearly cancel then
  // need no more room than their common denominator.
  const FloorDivision x = floor_divide(a.num(), a.den());
  const FloorDivision y = floor_divide(b.num(), b.den());
  const Int128 shared = common_factor(a.den(), b.den());
  const Int128 a_scale = b.den() / shared;
  const Int128 b_scale = a.den() / shared;
  Int128 common = 0;
  if (__builtin_mul_overflow(a.den(), a_scale, &common) ||
      magnitude(common) >= kLimit) {
    return std::nullopt;
  }
  // Each product is below `common`, so the sum is below 2^127.
  const std::optional<Rational> fraction =
      Rational::make(x.rest * a_scale + y.rest * b_scale, common);
  if (!fraction) return std::nullopt;
  Int128 num = 0;
  if (__builtin_mul_overflow(x.quotient + y.quotient, fraction->den(), &num) ||
      __builtin_add_overflow(num, fraction->num(), &num)) {
    return std::nullopt;
  }
  return Rational::make(num, fraction->den());
}

std::optional<Rational> subtract(const Rational& a, const Rational& b) {
  return add(a, *Rational::make(-b.num(), b.den()));
}

std::optional<Rational> multiply(const Rational& a, const Rational& b) {
  // With the cross factors gone the products are in lowest terms: they
  // overflow only when the result itself does not fit.
  const Int128 f = common_factor(a.num(), b.den());
  const Int128 g = common_factor(b.num(), a.den());
  Int128 num = 0;
  Int128 den = 0;
  if (__builtin_mul_overflow(a.num() / f, b.num() / g, &num) ||
      __builtin_mul_overflow(a.den() / g, b.den() / f, &den)) {
    return std::nullopt;
  }
  return Rational::make(num, den);
}

std::optional<Rational> divide(const Rational& a, const Rational& b) {
  if (b.num() == 0) return std::nullopt;
  return multiply(a, *Rational::make(b.den(), b.num()));
}

}  // namespace clockassay
