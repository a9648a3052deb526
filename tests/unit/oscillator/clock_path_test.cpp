// SPDX-License-Identifier: GPL-3.0-or-later
#include "clockassay/oscillator/clock_path.h"

#include <doctest/doctest.h>

#include <cstdint>
#include <random>
#include <string>

namespace clockassay {
namespace {

Rational ratio(Int128 num, Int128 den) {
  return Rational::make(num, den).value();
}

ClockPath read(const std::string& text) {
  const Result<ClockPath> path = parse_clock_path(text);
  INFO(text);
  REQUIRE(path.has_value());
  return *path;
}

TEST_CASE("parse_clock_path: values are exact") {
  struct Row {
    const char* text;
    Rational hz;
  };
  const Row rows[] = {
      {"12MHz", 12000000},
      {"24MHz / 2", 12000000},
      {"24MHz/3*42/4", 84000000},
      // 12e6 * (40 + 3/8) = 12e6 * 323/8.
      {"12MHz * (40 + 3/8)", 484500000},
      {"24MHz / 7", ratio(24000000, 7)},
      {"24MHz / 7 * 7", 24000000},
      {"32.768kHz * 366", 11993088},
      {"16MHz / 2.5", 6400000},
      {" 16 MHz\t/ .5 ", 32000000},
      {"16MHz * 1e-3", 16000},
      // Products bind tighter than sums, left to right: 10 - 2 - 2*3 = 2.
      {"1Hz * (10 - 2 - 2*3)", 2},
      {"1Hz * (12 / 2 / 3)", 2},
      {"1Hz * ((1 + 2) * (3 + 4))", 21},
      // Negative on the way is no harm, the factor is 2.
      {"1Hz * (3 - 5 + 4)", 2},
  };
  for (const Row& row : rows) {
    CHECK(read(row.text).frequency_hz == row.hz);
  }
}

TEST_CASE("parse_clock_path: source, factors and the way back are kept") {
  const ClockPath path = read(" 24 MHz/3 * (40+3/8)/ 4.0 ");
  CHECK(path.text == "24 MHz/3 * (40+3/8)/ 4.0");
  CHECK(path.source_text == "24 MHz");
  CHECK(path.source_hz == Rational(24000000));
  REQUIRE(path.factors.size() == 3);
  CHECK(path.factors[0].divides);
  CHECK(path.factors[0].value == Rational(3));
  CHECK(path.factors[0].text == "3");
  CHECK_FALSE(path.factors[1].divides);
  CHECK(path.factors[1].value == ratio(323, 8));
  CHECK(path.factors[1].text == "(40+3/8)");
  CHECK(path.factors[2].divides);
  CHECK(path.factors[2].text == "4.0");
  CHECK(clock_path_expression(path) == "24 MHz / 3 * (40+3/8) / 4.0");
  // 1 / (1/3 * 323/8 / 4) = 96/323.
  CHECK(path.source_over_frequency == ratio(96, 323));
}

TEST_CASE("parse_clock_path: errors name column, found and expected") {
  struct Row {
    const char* text;
    const char* message;
  };
  const Row rows[] = {
      {"",
       "clock path \"\", column 1: cannot read \"\" as a frequency: found no "
       "number, expected a decimal number and a unit"},
      {"/ 2",
       "clock path \"/ 2\", column 1: cannot read \"\" as a frequency: found "
       "no number, expected a decimal number and a unit"},
      {"  24mHz / 2",
       "clock path \"  24mHz / 2\", column 3: cannot read \"24mHz\" as a "
       "frequency: found \"mHz\", which is a thousandth of a hertz, allowed "
       "are Hz, kHz, MHz, GHz"},
      {"-24MHz / 2",
       "clock path \"-24MHz / 2\", column 1: cannot read \"-24MHz\" as a "
       "frequency: found a negative value, expected more than zero"},
      {"24MHz /",
       "clock path \"24MHz /\", column 8: found the end, expected a number or "
       "\"(\""},
      {"24MHz / -2",
       "clock path \"24MHz / -2\", column 9: found \"-\", expected a number or "
       "\"(\""},
      {"24MHz // 2",
       "clock path \"24MHz // 2\", column 8: found \"/\", expected a number or "
       "\"(\""},
      {"24MHz / 2kHz",
       "clock path \"24MHz / 2kHz\", column 10: found \"k\", expected \"*\", "
       "\"/\" or the end"},
      {"24MHz / 3 + 1",
       "clock path \"24MHz / 3 + 1\", column 11: found \"+\", expected \"*\", "
       "\"/\" or the end"},
      {"24MHz / 3 ÷ 2",
       "clock path \"24MHz / 3 ÷ 2\", column 11: found \"÷\", expected \"*\", "
       "\"/\" or the end"},
      {"24MHz * (40 + 3/8",
       "clock path \"24MHz * (40 + 3/8\", column 18: found the end, expected "
       "an operator or \")\""},
      {"24MHz * (40 3)",
       "clock path \"24MHz * (40 3)\", column 13: found \"3\", expected an "
       "operator or \")\""},
      {"24MHz * ()",
       "clock path \"24MHz * ()\", column 10: found \")\", expected a number "
       "or \"(\""},
      {"24MHz / 1.2.3",
       "clock path \"24MHz / 1.2.3\", column 9: cannot read \"1.2.3\" as a "
       "number that can be held exactly"},
      {"24MHz * 1e400",
       "clock path \"24MHz * 1e400\", column 9: cannot read \"1e400\" as a "
       "number that can be held exactly"},
      {"24MHz / 0",
       "clock path \"24MHz / 0\", column 9: found a factor of 0, expected more "
       "than zero"},
      {"24MHz * (1 - 3/2)",
       "clock path \"24MHz * (1 - 3/2)\", column 9: found a factor of -1/2, "
       "expected more than zero"},
      {"24MHz * (1 / (2 - 2))",
       "clock path \"24MHz * (1 / (2 - 2))\", column 14: found a factor of 0, "
       "expected more than zero"},
      {"24MHz * (1 + 1 / (2 - 2))",
       "clock path \"24MHz * (1 + 1 / (2 - 2))\", column 16: found a division "
       "by zero"},
      {"1e30Hz",
       "clock path \"1e30Hz\", column 1: found 1e+30 Hz, expected from 1 uHz "
       "to 1 THz"},
      {"24MHz * 1e5 / 2",
       "clock path \"24MHz * 1e5 / 2\", column 1: found 1.2e+12 Hz, expected "
       "from 1 uHz to 1 THz"},
      {"24MHz / 1e14",
       "clock path \"24MHz / 1e14\", column 1: found 2.4e-07 Hz, expected from "
       "1 uHz to 1 THz"},
      {"24MHz * 1e30 * 1e3",
       "clock path \"24MHz * 1e30 * 1e3\", column 14: the value is too large "
       "or too fine to be held exactly"},
      {"24MHz * (1e30 * 1e30)",
       "clock path \"24MHz * (1e30 * 1e30)\", column 15: the value is too "
       "large or too fine to be held exactly"},
  };
  for (const Row& row : rows) {
    const Result<ClockPath> path = parse_clock_path(row.text);
    INFO(row.text);
    REQUIRE_FALSE(path.has_value());
    CHECK(path.error().code == ErrorCode::kUsage);
    CHECK(path.error().message == row.message);
  }
}

TEST_CASE("parse_clock_path: signs as typeset are told how to type") {
  const struct {
    const char* text;
    const char* hint;
  } rows[] = {
      {"24MHz × 2", "write \"*\" for \"×\""},
      {"24MHz / 2 × 3", "write \"*\" for \"×\""},
      {"24MHz / 2 · 3", "write \"*\" for \"·\""},
      {"24MHz ÷ 2", "write \"/\" for \"÷\""},
      {"24MHz / 3 ÷ 2 × 4", "write \"/\" for \"÷\""},
      {"24MHz * (40 − 3/8)", "write \"-\" for \"−\""},
      {"24MHz * 1e−3", "write \"-\" for \"−\""},
  };
  for (const auto& row : rows) {
    const Result<ClockPath> path = parse_clock_path(row.text);
    INFO(row.text);
    REQUIRE_FALSE(path.has_value());
    CHECK(path.error().hint == row.hint);
  }
  CHECK(parse_clock_path("24MHz / 2kHz").error().hint ==
        "only the source has a unit, factors are plain numbers");
}

TEST_CASE("parse_clock_path: parentheses up to 16 deep, no further") {
  const auto nested = [](std::size_t depth) {
    return "1Hz * " + std::string(depth, '(') + "2" + std::string(depth, ')');
  };
  CHECK(read(nested(16)).frequency_hz == Rational(2));
  const Result<ClockPath> path = parse_clock_path(nested(17));
  REQUIRE_FALSE(path.has_value());
  // The 17th parenthesis stands after "1Hz * " and 16 others.
  CHECK(path.error().message ==
        "clock path \"" + nested(17) +
            "\", column 23: found parentheses nested more than 16 deep");
  CHECK_FALSE(parse_clock_path("1Hz * " + std::string(100000, '(')));
}

TEST_CASE("clock_path_expression: reading it back gives the same path") {
  constexpr std::uint64_t kSeed = 1706;
  INFO("seed ", kSeed);
  std::mt19937_64 random(kSeed);
  const auto below = [&random](std::uint64_t n) { return random() % n; };
  const auto blanks = [&] { return std::string(below(3), ' '); };
  for (int i = 0; i < 2000; ++i) {
    std::string text = std::to_string(1 + below(50)) + blanks() + "MHz";
    Rational hz = parse_clock_path(text)->frequency_hz;
    for (std::uint64_t n = below(5); n > 0; --n) {
      const auto whole = static_cast<std::int64_t>(1 + below(99));
      const auto top = static_cast<std::int64_t>(below(7));
      // Not beyond 1 THz.
      const bool divides = hz > Rational(1'000'000'000) || below(2) == 0;
      const bool fractional = below(3) == 0;
      text += blanks() + (divides ? "/" : "*") + blanks();
      text += fractional ? "(" + std::to_string(whole) + blanks() + "+" +
                               std::to_string(top) + "/8)"
                         : std::to_string(whole);
      const Rational factor =
          fractional ? *add(whole, ratio(top, 8)) : Rational(whole);
      hz = divides ? *divide(hz, factor) : *multiply(hz, factor);
    }
    const ClockPath path = read(text);
    CHECK(path.frequency_hz == hz);
    const std::string expression = clock_path_expression(path);
    const ClockPath again = read(expression);
    CHECK(again.frequency_hz == hz);
    CHECK(clock_path_expression(again) == expression);
    CHECK(multiply(hz, path.source_over_frequency) == path.source_hz);
  }
}

TEST_CASE("parse_clock_path: a product in parentheses is its factors") {
  // Registers that are written together, each of which may be wrong by itself.
  const ClockPath timer = read("72MHz / ((71+1) * (999+1))");
  CHECK(timer.frequency_hz == Rational(1000));
  REQUIRE(timer.factors.size() == 2);
  CHECK(timer.factors[0].divides);
  CHECK(timer.factors[0].value == Rational(72));
  CHECK(timer.factors[1].text == "(999+1)");
  CHECK(clock_path_expression(timer) == "72MHz / (71+1) / (999+1)");
  // What divides a divider multiplies.
  const ClockPath inverse = read("8MHz / (4 / 2 * (3))");
  REQUIRE(inverse.factors.size() == 3);
  CHECK(inverse.factors[0].divides);
  CHECK_FALSE(inverse.factors[1].divides);
  CHECK(inverse.factors[2].divides);
  CHECK(inverse.frequency_hz == ratio(8000000, 6));
  // A sum is one setting, whatever it is made of; so is a power of ten.
  CHECK(read("12MHz * (40 + 3/8)").factors.size() == 1);
  CHECK(read("12MHz / (1e-1)").factors.size() == 1);
}

TEST_CASE("parse_clock_path: more than 64 factors are refused") {
  std::string text = "24MHz";
  for (int i = 0; i < 64; ++i) text += " / 1";
  CHECK(parse_clock_path(text));
  const auto path = parse_clock_path(text + " / 1");
  REQUIRE_FALSE(path);
  CHECK(path.error().message.find(
            "found a further factor, expected at most 64") !=
        std::string::npos);
}

}  // namespace
}  // namespace clockassay
