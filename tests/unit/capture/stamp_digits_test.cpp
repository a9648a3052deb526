// SPDX-License-Identifier: GPL-3.0-or-later
#include "clockassay/capture/stamp_digits.h"

#include <doctest/doctest.h>

using clockassay::StampDigits;

TEST_CASE("StampDigits: without a stamp, or with zeros alone, one tick") {
  StampDigits digits;
  CHECK(digits.resolution_ticks() == 1);
  digits.add(std::nullopt, 3);
  CHECK(digits.resolution_ticks() == 1);
}

TEST_CASE("StampDigits: fixed decimals count, however few are written") {
  StampDigits digits;
  digits.add(5, 0);  // 1.23456 in ticks of 1e-5
  digits.add(4, 4);  // 0.5
  digits.add(5, 5);  // 1
  CHECK(digits.resolution_ticks() == 1);
}

TEST_CASE("StampDigits: significant digits are coarse for large numbers") {
  StampDigits digits;
  digits.add(4, 0);  // 1.2345E-07 in ticks of 1e-11
  digits.add(7, 3);  // 1.2345E-04
  CHECK(digits.resolution_ticks() == 1000);
}

TEST_CASE("StampDigits: merging in any order is as adding all") {
  StampDigits all;
  StampDigits first;
  StampDigits second;
  const StampDigits empty;
  first.add(4, 0);
  first.add(std::nullopt, -2);
  second.add(9, 7);
  all.add(4, 0);
  all.add(std::nullopt, -2);
  all.add(9, 7);
  // F = -2, M = 9, S = 5: 9 - 5 + 1 = 5.
  CHECK(all.resolution_ticks() == 100'000);
  StampDigits forth = first;
  forth.merge(second);
  forth.merge(empty);
  StampDigits back = empty;
  back.merge(second);
  back.merge(first);
  CHECK(forth.resolution_ticks() == 100'000);
  CHECK(back.resolution_ticks() == 100'000);
}
