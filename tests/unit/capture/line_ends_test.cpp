// SPDX-License-Identifier: GPL-3.0-or-later
#include "capture/line_ends.h"

#include <doctest/doctest.h>

#include <cstdint>
#include <random>
#include <string>

#include "support/simd_levels.h"

namespace clockassay {
namespace {

TEST_CASE("count_line_ends: of long texts, at every level of instructions") {
  // Lanes of 64 count up to 255 each: more than 64 * 255 line ends in a row,
  // and every place of the last ones.
  for (std::size_t size = 2 * 64 * 255 - 3; size < 2 * 64 * 255 + 70; ++size) {
    const std::string ends(size, '\n');
    test::at_each_simd_level([&] {
      CHECK(count_line_ends(ends) == static_cast<std::int64_t>(size));
      CHECK(count_line_ends(ends + "a") == static_cast<std::int64_t>(size));
    });
  }
}

TEST_CASE("count_line_ends: LF, CR LF and CR count once each") {
  CHECK(count_line_ends("") == 0);
  CHECK(count_line_ends("a\nb\n") == 2);
  CHECK(count_line_ends("a\r\nb\r\n") == 2);
  CHECK(count_line_ends("a\rb\r") == 2);
  CHECK(count_line_ends("a\r\r\nb\n\n") == 4);
}

TEST_CASE("count_line_ends: agrees with counting one by one") {
  constexpr unsigned kSeed = 3;
  std::mt19937 random(kSeed);
  CAPTURE(kSeed);
  // Neighbours of LF, and bytes above 0x7F, are what fast counting gets wrong.
  const std::string letters = "\n\n\x09\x0B\x8A\x00\xFFz";
  std::uniform_int_distribution<std::size_t> pick(0, letters.size() - 1);
  for (std::size_t size = 0; size < 300; ++size) {
    std::string text;
    std::int64_t expected = 0;
    for (std::size_t i = 0; i < size; ++i) {
      text += letters[pick(random)];
      expected += text.back() == '\n' ? 1 : 0;
    }
    REQUIRE(count_line_ends(text) == expected);
  }
}

}  // namespace
}  // namespace clockassay
