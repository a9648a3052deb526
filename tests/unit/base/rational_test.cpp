// SPDX-License-Identifier: GPL-3.0-or-later
#include "clockassay/base/rational.h"

#include <doctest/doctest.h>

#include <cmath>
#include <cstdint>
#include <random>

namespace clockassay {
namespace {

Int128 power_of_two(int exponent) {
  return static_cast<Int128>(1) << exponent;
}

Rational ratio(Int128 num, Int128 den) {
  return Rational::make(num, den).value();
}

const Int128 kLargest = power_of_two(126) - 1;

TEST_CASE("Rational::make: lowest terms and a positive denominator") {
  CHECK(ratio(6, -4).num() == -3);
  CHECK(ratio(6, -4).den() == 2);
  CHECK(ratio(0, -7) == Rational(0));
  CHECK(ratio(0, -7).den() == 1);
  CHECK_FALSE(Rational::make(1, 0).has_value());
  CHECK_FALSE(Rational::make(0, 0).has_value());
}

TEST_CASE("Rational::make: magnitudes below 2^126, whatever Int128 is given") {
  CHECK(Rational::make(kLargest, 1).has_value());
  CHECK(Rational::make(1, kLargest).has_value());
  CHECK_FALSE(Rational::make(power_of_two(126), 1).has_value());
  CHECK_FALSE(Rational::make(-power_of_two(126), 1).has_value());
  // The most negative Int128, -2^127, has no positive counterpart.
  const Int128 most_negative = -kLargest - kLargest - 2;
  CHECK(most_negative < 0);
  CHECK(ratio(most_negative, power_of_two(126)) == Rational(-2));
  CHECK(ratio(most_negative, most_negative) == Rational(1));
  CHECK_FALSE(Rational::make(most_negative, 3).has_value());
}

TEST_CASE("arithmetic: hand-worked fractions") {
  CHECK(add(ratio(1, 6), ratio(1, 10)) == ratio(4, 15));
  CHECK(subtract(ratio(1, 6), ratio(1, 10)) == ratio(1, 15));
  CHECK(add(ratio(-7, 3), ratio(1, 3)) == Rational(-2));
  CHECK(multiply(ratio(2, 3), ratio(-9, 4)) == ratio(-3, 2));
  CHECK(divide(ratio(2, 3), ratio(-4, 9)) == ratio(-3, 2));
  CHECK_FALSE(divide(Rational(1), Rational(0)).has_value());
  // 24 MHz / 7 * 7 comes back exactly, as no double would promise.
  CHECK(multiply(*divide(Rational(24000000), 7), 7) == Rational(24000000));
}

TEST_CASE("arithmetic: results that fit are found beside the limit") {
  const Rational large = ratio(kLargest, 2);
  CHECK(subtract(large, large) == Rational(0));
  CHECK(add(ratio(kLargest, 1), Rational(-1)) == ratio(kLargest - 1, 1));
  CHECK(multiply(ratio(kLargest, 5), ratio(5, kLargest)) == Rational(1));
  CHECK(divide(ratio(kLargest, 3), ratio(kLargest, 7)) == ratio(7, 3));
  // (2^126-1)/2 - (2^126-3)/2 = 1.
  CHECK(subtract(large, ratio(kLargest - 2, 2)) == Rational(1));
}

TEST_CASE("arithmetic: leaving the range is nullopt, never a rounded value") {
  CHECK_FALSE(add(ratio(kLargest, 1), Rational(1)).has_value());
  CHECK_FALSE(subtract(ratio(-kLargest, 1), Rational(1)).has_value());
  CHECK_FALSE(multiply(ratio(kLargest, 1), Rational(2)).has_value());
  CHECK_FALSE(multiply(ratio(1, kLargest), ratio(1, 2)).has_value());
  CHECK_FALSE(divide(ratio(kLargest, 1), ratio(1, 2)).has_value());
  // Coprime denominators of 64 and 65 bits need 129 bits together.
  CHECK_FALSE(add(ratio(1, power_of_two(64)), ratio(1, power_of_two(64) + 1))
                  .has_value());
  CHECK_FALSE(add(ratio(kLargest, 1), ratio(1, 2)).has_value());
}

TEST_CASE("arithmetic: (a+b)-b and (a*b)/b give a back") {
  constexpr std::uint64_t kSeed = 20240611;
  INFO("seed ", kSeed);
  std::mt19937_64 random(kSeed);
  const auto draw = [&random] {
    const auto num =
        static_cast<std::int64_t>(random() >> 24) - (std::int64_t{1} << 39);
    const auto den = static_cast<std::int64_t>(random() >> 44) + 1;
    return ratio(num, den);
  };
  for (int i = 0; i < 2000; ++i) {
    const Rational a = draw();
    const Rational b = draw();
    CAPTURE(i);
    CHECK(subtract(*add(a, b), b) == a);
    if (b.sign() != 0) CHECK(divide(*multiply(a, b), b) == a);
    // The sign of the difference is an independent comparison.
    CHECK((a < b) == (subtract(a, b)->sign() < 0));
    CHECK((a <=> b) == (Rational(0) <=> *subtract(b, a)));
  }
}

TEST_CASE("comparison: exact where cross products would need 252 bits") {
  // (n-1)/n < n/(n+1), which differ by less than 1e-75.
  const Rational a = ratio(kLargest - 2, kLargest - 1);
  const Rational b = ratio(kLargest - 1, kLargest);
  CHECK(a < b);
  CHECK(b > a);
  CHECK((a <=> a) == std::strong_ordering::equal);
  CHECK(a.to_double() == b.to_double());
  CHECK(ratio(-kLargest, 2) < ratio(-kLargest + 2, 2));
  CHECK(ratio(-1, 3) < Rational(0));
  CHECK(ratio(-1, 2) < ratio(-1, 3));
  CHECK(ratio(1, 3) < ratio(1, 2));
}

TEST_CASE("to_double: correctly rounded, ties to even") {
  CHECK(Rational(0).to_double() == 0.0);
  CHECK(ratio(1, 3).to_double() == 0x1.5555555555555p-2);
  CHECK(ratio(-2, 3).to_double() == -0x1.5555555555555p-1);
  const Int128 big = power_of_two(53);
  CHECK(ratio(big + 1, 1).to_double() == 0x1p53);      // a tie, down to even
  CHECK(ratio(big + 3, 1).to_double() == 0x1p53 + 4);  // a tie, up to even
  // Just above and just below the first tie: only the exact value tells.
  const Int128 fine = power_of_two(60);
  CHECK(ratio((big + 1) * fine + 1, fine).to_double() == 0x1p53 + 2);
  CHECK(ratio((big + 1) * fine - 1, fine).to_double() == 0x1p53);
}

TEST_CASE("to_double: the ends of the range") {
  CHECK(ratio(kLargest, 1).to_double() == 0x1p126);
  CHECK(ratio(1, kLargest).to_double() == 0x1p-126);
  CHECK(ratio(-kLargest, kLargest - 1).to_double() == -1.0);
  CHECK(ratio(power_of_two(125), kLargest).to_double() == 0.5);
}

TEST_CASE("to_double: agrees with exact arithmetic on 126-bit fractions") {
  // The nearest double d is the one for which the exact value lies between
  // the midpoints to its neighbours. Compared as rationals, exactly: the
  // midpoints are k/2^54-like and fit when the value is in [1, 2).
  constexpr std::uint64_t kSeed = 7;
  INFO("seed ", kSeed);
  std::mt19937_64 random(kSeed);
  for (int i = 0; i < 2000; ++i) {
    const Int128 den = power_of_two(124) +
                       (static_cast<Int128>(random() >> 4) << 60) +
                       static_cast<Int128>(random() >> 4);
    const Int128 extra = static_cast<Int128>(random() >> 4) << 60;
    const Rational value = ratio(den + extra, den);
    CAPTURE(i);
    // 1 + extra/den lies in [1, 2); spacing there is 2^-52.
    const auto steps =
        static_cast<std::int64_t>(std::ldexp(value.to_double() - 1.0, 52));
    const Rational low =
        ratio(power_of_two(53) + 2 * steps - 1, power_of_two(53));
    const Rational high =
        ratio(power_of_two(53) + 2 * steps + 1, power_of_two(53));
    CHECK(low <= value);
    CHECK(value <= high);
  }
}

TEST_CASE("to_string: whole numbers bare, fractions with a stroke") {
  CHECK(Rational(0).to_string() == "0");
  CHECK(Rational(-3).to_string() == "-3");
  CHECK(ratio(24000000, 7).to_string() == "24000000/7");
  // 2^126 - 1.
  CHECK(ratio(-kLargest, 1).to_string() ==
        "-85070591730234615865843651857942052863");
}

}  // namespace
}  // namespace clockassay
