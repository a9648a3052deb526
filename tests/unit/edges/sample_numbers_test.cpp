// SPDX-License-Identifier: GPL-3.0-or-later
#include "clockassay/edges/sample_numbers.h"

#include <doctest/doctest.h>

#include <random>

using namespace clockassay;

namespace {

SampleNumbers of(std::int64_t num, std::int64_t den, std::int64_t origin = 0) {
  return {*Rational::make(num, den), Ticks(origin), 1};
}

}  // namespace

TEST_CASE("sample_number: 120 MS/s in nanoseconds, rounded or cut off") {
  // 25/3 ns apart: 0, 8, 17, 25 rounded; 0, 8, 16, 25 cut off.
  const SampleNumbers s = of(25, 3);
  const std::int64_t stamps[][2] = {{0, 0},  {8, 1},   {17, 2},  {16, 2},
                                    {25, 3}, {-8, -1}, {-17, -2}};
  for (const auto& [stamp, number] : stamps) {
    const auto& which = stamp;
    CAPTURE(which);
    const auto n = sample_number(s, Ticks(stamp));
    REQUIRE(n);
    CHECK(n->count() == number);
  }
  // More than a step from 0, 8.33 and 16.67.
  CHECK_FALSE(sample_number(s, Ticks(4)));
  CHECK_FALSE(sample_number(s, Ticks(12)));
  CHECK(sample_number(of(25, 3, 1000), Ticks(1017))->count() == 2);
}

TEST_CASE("sample_number: exact up to 2^62 ticks") {
  // 24 MS/s in fs: 125e9/3 ticks apart. Sample n at n 125e9/3, rounded.
  const SampleNumbers s = of(125'000'000'000, 3);
  std::mt19937_64 random(61);
  for (int i = 0; i < 10000; ++i) {
    const auto n = static_cast<std::int64_t>(
        random() % ((std::uint64_t{1} << 62) / 41'666'666'667ull));
    const Int128 at = Int128(n) * 125'000'000'000;
    const auto rounded = static_cast<std::int64_t>((2 * at + 3) / 6);
    REQUIRE(sample_number(s, Ticks(rounded)));
    CHECK(sample_number(s, Ticks(rounded))->count() == n);
    const auto cut = static_cast<std::int64_t>(at / 3);
    CHECK(sample_number(s, Ticks(cut))->count() == n);
  }
}

TEST_CASE("tells_samples: twice the text's step is less than a sample") {
  SampleNumbers s = of(25, 3);
  s.text_ticks = 4;
  CHECK(tells_samples(s));
  s.text_ticks = 5;
  CHECK_FALSE(tells_samples(s));
}
