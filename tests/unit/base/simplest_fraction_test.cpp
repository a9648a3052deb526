// SPDX-License-Identifier: GPL-3.0-or-later
#include "clockassay/base/simplest_fraction.h"

#include <doctest/doctest.h>

#include <cmath>
#include <numbers>
#include <random>

using namespace clockassay;

namespace {

// Every denominator in turn: the definition.
Rational by_search(double low, double high) {
  for (std::int64_t den = 1;; ++den) {
    const auto num =
        static_cast<std::int64_t>(std::ceil(low * static_cast<double>(den)));
    const double value = static_cast<double>(num) / static_cast<double>(den);
    if (num > 0 && value >= low && value <= high) {
      return *Rational::make(num, den);
    }
  }
}

}  // namespace

TEST_CASE("simplest_fraction: the convergents and semi-convergents of pi") {
  // 3, 22/7, 355/113 are best approximations (L. Euler; any table of continued
  // fractions); 333/106 lies below pi by 8.3e-5, 355/113 above by 2.7e-7.
  const auto around = [](double off) {
    return simplest_fraction(std::numbers::pi - off, std::numbers::pi + off);
  };
  CHECK(around(0.2) == Rational(3));
  CHECK(around(0.002) == *Rational::make(22, 7));
  CHECK(around(3e-7) == *Rational::make(355, 113));
}

TEST_CASE("simplest_fraction: ends belong to it") {
  CHECK(simplest_fraction(0.5, 0.5) == *Rational::make(1, 2));
  CHECK(simplest_fraction(2.0, 2.5) == Rational(2));
  CHECK(simplest_fraction(1.5, 2.0) == Rational(2));
  CHECK(simplest_fraction(1e-3, 1e-3 * 1.0001) == *Rational::make(1, 1000));
}

TEST_CASE("simplest_fraction: nothing where there is none") {
  CHECK_FALSE(simplest_fraction(0.0, 1.0));
  CHECK_FALSE(simplest_fraction(2.0, 1.0));
  CHECK_FALSE(simplest_fraction(std::nan(""), 1.0));
  CHECK_FALSE(simplest_fraction(1e17, 1e18));
}

TEST_CASE("simplest_fraction: as a search of all denominators finds it") {
  constexpr unsigned kSeed = 7301;
  CAPTURE(kSeed);
  std::mt19937_64 random(kSeed);
  std::uniform_real_distribution<double> logarithm(-4.0, 4.0);
  for (int i = 0; i < 2000; ++i) {
    const double low = std::exp(logarithm(random));
    const double high = low * (1.0 + std::exp(logarithm(random) - 8.0));
    CAPTURE(low);
    CAPTURE(high);
    const auto found = simplest_fraction(low, high);
    REQUIRE(found);
    CHECK(*found == by_search(low, high));
  }
}
