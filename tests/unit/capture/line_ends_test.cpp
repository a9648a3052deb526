// SPDX-License-Identifier: GPL-3.0-or-later
#include "capture/line_ends.h"

#include <doctest/doctest.h>

#include <random>
#include <string>

namespace clockassay {
namespace {

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
