// SPDX-License-Identifier: GPL-3.0-or-later
#include "clockassay/oscillator/path_neighbours.h"

#include <doctest/doctest.h>

#include <cmath>
#include <cstdint>
#include <random>
#include <set>
#include <string>
#include <vector>

namespace clockassay {
namespace {

using Kind = PathNeighbourKind;

Rational ratio(Int128 num, Int128 den) {
  return Rational::make(num, den).value();
}

std::vector<PathNeighbour> neighbours_of(const std::string& text) {
  const Result<ClockPath> path = parse_clock_path(text);
  INFO(text);
  REQUIRE(path.has_value());
  const Result<std::vector<PathNeighbour>> list = path_neighbours(*path);
  REQUIRE(list.has_value());
  return *list;
}

TEST_CASE("path_neighbours: every plausible slip, in the order of the path") {
  struct Row {
    Kind kind;
    const char* expression;
    const char* description;
    Rational ratio;
    Rational hz;
  };
  // Intended: 24 MHz / 3 * 42 / 4 = 84 MHz. Each ratio by hand.
  const Row rows[] = {
      {Kind::kOneMore, "24MHz / 4 * 42 / 4",
       "divider 3 counted as 4 (off by one)", ratio(3, 4), 63000000},
      {Kind::kOneLess, "24MHz / 2 * 42 / 4",
       "divider 3 counted as 2 (off by one)", ratio(3, 2), 126000000},
      {Kind::kFactorMissing, "24MHz * 42 / 4", "divider 3 missing", 3,
       252000000},
      {Kind::kFactorTwice, "24MHz / 3 / 3 * 42 / 4", "divider 3 applied twice",
       ratio(1, 3), 28000000},
      {Kind::kOneMore, "24MHz / 3 * 43 / 4",
       "multiplier 42 counted as 43 (off by one)", ratio(43, 42), 86000000},
      {Kind::kOneLess, "24MHz / 3 * 41 / 4",
       "multiplier 42 counted as 41 (off by one)", ratio(41, 42), 82000000},
      {Kind::kFactorMissing, "24MHz / 3 / 4", "multiplier 42 missing",
       ratio(1, 42), 2000000},
      {Kind::kFactorTwice, "24MHz / 3 * 42 * 42 / 4",
       "multiplier 42 applied twice", 42, 3528000000},
      {Kind::kOneMore, "24MHz / 3 * 42 / 5",
       "divider 4 counted as 5 (off by one)", ratio(4, 5), 67200000},
      {Kind::kOneLess, "24MHz / 3 * 42 / 3",
       "divider 4 counted as 3 (off by one)", ratio(4, 3), 112000000},
      {Kind::kFactorMissing, "24MHz / 3 * 42", "divider 4 missing", 4,
       336000000},
      {Kind::kFactorTwice, "24MHz / 3 * 42 / 4 / 4", "divider 4 applied twice",
       ratio(1, 4), 21000000},
      {Kind::kTwoOneMore, "24MHz / 4 * 42 / 5",
       "divider 3 counted as 4 and divider 4 counted as 5 (both off by one)",
       ratio(3, 5), 50400000},
      {Kind::kDoubled, "24MHz / 3 * 42 / 4 * 2",
       "twice the intended frequency (prescaler or timer-clock rule)", 2,
       168000000},
      {Kind::kHalved, "24MHz / 3 * 42 / 4 / 2",
       "half the intended frequency (toggle counted as a pulse, or a "
       "prescaler)",
       ratio(1, 2), 42000000},
  };
  const std::vector<PathNeighbour> found = neighbours_of("24MHz / 3 * 42 / 4");
  REQUIRE(found.size() == std::size(rows));
  for (std::size_t i = 0; i < found.size(); ++i) {
    CAPTURE(i);
    CHECK(found[i].kind == rows[i].kind);
    CHECK(found[i].expression == rows[i].expression);
    CHECK(found[i].description == rows[i].description);
    CHECK(found[i].ratio == rows[i].ratio);
    CHECK(found[i].frequency_hz == rows[i].hz);
  }
}

TEST_CASE("path_neighbours: a period register one too large is N/(N+1)") {
  // Derived: N/(N+1) - 1 = -1/(N+1), in ppm rounded to three places. The
  // exact values are -1e6/101, -1e6/1001, -1e6/16001 and -1e6/48001.
  struct Row {
    const char* text;
    double ppm;
  };
  for (const Row& row :
       {Row{"1MHz / 100", -9900.990}, Row{"1MHz / 1000", -999.001},
        Row{"16MHz / 16000", -62.496}, Row{"48MHz / 48000", -20.833}}) {
    const PathNeighbour first = neighbours_of(row.text).front();
    CAPTURE(row.text);
    CHECK(first.kind == Kind::kOneMore);
    const Rational difference = *subtract(first.ratio, 1);
    const double ppm = multiply(difference, 1000000)->to_double();
    CHECK(std::abs(ppm - row.ppm) <= 0.0005);  // half the last place given
  }
}

TEST_CASE("path_neighbours: a bare source can only be doubled or halved") {
  const std::vector<PathNeighbour> found = neighbours_of("12MHz");
  REQUIRE(found.size() == 2);
  CHECK(found[0].expression == "12MHz * 2");
  CHECK(found[1].expression == "12MHz / 2");
}

TEST_CASE("path_neighbours: a fractional factor is never off by one") {
  std::set<std::string> descriptions;
  for (const auto& n : neighbours_of("12MHz * (40 + 3/8)")) {
    descriptions.insert(n.description);
  }
  CHECK(descriptions.size() == 4);
  CHECK(descriptions.count("multiplier (40 + 3/8) missing") == 1);
  CHECK(descriptions.count("multiplier (40 + 3/8) applied twice") == 1);
}

TEST_CASE("path_neighbours: a whole value in parentheses is off by one") {
  const PathNeighbour first = neighbours_of("12MHz / (11+1)").front();
  CHECK(first.description == "divider 12 counted as 13 (off by one)");
  CHECK(first.expression == "12MHz / 13");
}

TEST_CASE("path_neighbours: a factor of 1 is not seen missing or doubled") {
  const std::vector<PathNeighbour> found = neighbours_of("12MHz / 1");
  REQUIRE(found.size() == 3);
  CHECK(found[0].description == "divider 1 counted as 2 (off by one)");
  CHECK(found[1].kind == Kind::kDoubled);
  CHECK(found[2].kind == Kind::kHalved);
}

TEST_CASE("path_neighbours: equal factors once, equal ratios all") {
  // Either divider 2 may be the missing one, but that is the same remark.
  // The doubled path has the same ratio and another reason.
  int missing = 0;
  int ratio_two = 0;
  for (const auto& n : neighbours_of("24MHz / 2 / 2")) {
    if (n.kind == Kind::kFactorMissing) ++missing;
    if (n.ratio == Rational(2)) ++ratio_two;
  }
  CHECK(missing == 1);
  CHECK(ratio_two == 2);
}

TEST_CASE("path_neighbours: each expression reads back as its frequency") {
  constexpr std::uint64_t kSeed = 31;
  INFO("seed ", kSeed);
  std::mt19937_64 random(kSeed);
  for (int i = 0; i < 300; ++i) {
    std::string text = std::to_string(1 + random() % 50) + "MHz";
    for (std::uint64_t n = random() % 5; n > 0; --n) {
      text += random() % 2 == 0 ? " / " : " * ";
      text += random() % 4 == 0 ? "2.5" : std::to_string(1 + random() % 99);
    }
    const Result<ClockPath> asked = parse_clock_path(text);
    if (!asked) continue;  // above 1 THz
    const Rational intended = asked->frequency_hz;
    std::set<std::string> descriptions;
    for (const PathNeighbour& n : neighbours_of(text)) {
      CAPTURE(n.expression);
      // No pin shows more than 1 THz: such a path is refused.
      if (n.frequency_hz > Rational(1'000'000'000'000)) continue;
      const Result<ClockPath> path = parse_clock_path(n.expression);
      REQUIRE(path.has_value());
      CHECK(path->frequency_hz == n.frequency_hz);
      CHECK(divide(n.frequency_hz, intended) == n.ratio);
      CHECK(n.ratio != Rational(1));
      CHECK(descriptions.insert(n.description).second);
    }
  }
}

TEST_CASE("path_neighbours: leaving the exact range is an error") {
  const Result<ClockPath> path =
      parse_clock_path("1Hz * 1e20 / 100000000000000000000");
  REQUIRE(path.has_value());
  const auto list = path_neighbours(*path);  // 1e40 does not fit
  REQUIRE_FALSE(list.has_value());
  CHECK(list.error().code == ErrorCode::kOutOfRange);
  CHECK(list.error().message ==
        "clock path \"1Hz * 1e20 / 100000000000000000000\": a neighbour of it "
        "is too large or too "
        "fine to be held exactly");
}

}  // namespace
}  // namespace clockassay
