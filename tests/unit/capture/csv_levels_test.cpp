// SPDX-License-Identifier: GPL-3.0-or-later
#include "capture/csv_levels.h"

#include <doctest/doctest.h>

#include <string>

using clockassay::CellLevel;
using clockassay::level_hint_for;
using clockassay::LevelWords;

namespace {

LevelWords stated(const char* low, const char* high, char mark = '.') {
  return LevelWords({{low, high}}, mark);
}

}  // namespace

TEST_CASE("LevelWords: unambiguous words in any case") {
  const LevelWords words;
  for (const char* cell : {"0", "low", "LOW", "Low", "l", "L", "off", "Off",
                           "OFF", "false", "False"}) {
    CAPTURE(std::string(cell));
    CHECK(words.parse(cell) == CellLevel::kLow);
  }
  for (const char* cell :
       {"1", "high", "HIGH", "h", "H", "on", "On", "ON", "true", "TRUE"}) {
    CAPTURE(std::string(cell));
    CHECK(words.parse(cell) == CellLevel::kHigh);
  }
  for (const char* cell : {"x", "X", "z", "Z"}) {
    CHECK(words.parse(cell) == CellLevel::kUnknown);
  }
  CHECK(words.parse("") == CellLevel::kUnchanged);
}

TEST_CASE("LevelWords: exactly 0 and 1 in any decimal spelling") {
  const LevelWords words;
  for (const char* cell : {"0.000", "-0.0", "+0", "0.", ".0", "0.00E+00"}) {
    CAPTURE(std::string(cell));
    CHECK(words.parse(cell) == CellLevel::kLow);
  }
  for (const char* cell : {"1.000", "+1", "1.", "1.000000E+00", "0.1e1"}) {
    CAPTURE(std::string(cell));
    CHECK(words.parse(cell) == CellLevel::kHigh);
  }
  CHECK(LevelWords({}, ',').parse("1,000") == CellLevel::kHigh);
  // A thousand, or one with a comma in the place of a point.
  CHECK_FALSE(words.parse("1,000").has_value());
  CHECK_FALSE(words.parse("1.0000000001").has_value());
  CHECK_FALSE(words.parse("0.9999999999999999999999").has_value());
  CHECK_FALSE(words.parse("1e-30").has_value());
}

TEST_CASE("LevelWords: what may mean something else is no level") {
  for (const char* cell :
       {"-1", "2",  "5",        "3.3",    "10",      "0x1",  "00",
        "01", "11", "00000001", "rising", "falling", "open", "closed",
        "t",  "f",  "yes",      "no",     "?",       "hi",   "nan",
        "-",  "+",  "1 0",      "lowhigh"}) {
    CAPTURE(std::string(cell));
    CHECK_FALSE(LevelWords().parse(cell).has_value());
  }
}

TEST_CASE("LevelWords: -1 is never high unless the user says so") {
  CHECK_FALSE(LevelWords().parse("-1").has_value());
  CHECK(stated("1", "-1").parse("-1") == CellLevel::kHigh);
  CHECK(stated("-1", "1").parse("-1") == CellLevel::kLow);
  CHECK(stated("-1", "1").parse("-1.0") == CellLevel::kLow);
  CHECK(stated("-1", "1").parse("1") == CellLevel::kHigh);
}

TEST_CASE(
    "LevelWords: stated texts are compared as they are, numbers exactly") {
  const LevelWords five = stated("0", "5");
  CHECK(five.parse("5.000") == CellLevel::kHigh);
  CHECK(five.parse("0.5e1") == CellLevel::kHigh);
  CHECK(five.parse("-0") == CellLevel::kLow);
  CHECK_FALSE(five.parse("1").has_value());
  CHECK_FALSE(five.parse("-5").has_value());
  CHECK_FALSE(five.parse("50").has_value());
  CHECK_FALSE(five.parse("low").has_value());
  CHECK(five.parse("x") == CellLevel::kUnknown);
  CHECK(five.parse("") == CellLevel::kUnchanged);
  const LevelWords door = stated("closed", "open");
  CHECK(door.parse("open") == CellLevel::kHigh);
  CHECK(door.parse("closed") == CellLevel::kLow);
  CHECK_FALSE(door.parse("Open").has_value());
  CHECK(stated("0,5", "4,5", ',').parse("4,50") == CellLevel::kHigh);
  CHECK(stated("1", "0").parse("0") == CellLevel::kHigh);
  CHECK(stated("x", "y").parse("x") == CellLevel::kLow);
}

TEST_CASE("LevelWords: says what it expects") {
  CHECK(LevelWords().expected() ==
        "a level: 0, 1, low, high, L, H, off, on, false, true, x, z or "
        "nothing");
  CHECK(stated("-1", "1").expected() ==
        "a level: \"-1\", \"1\", x, z or nothing");
}

TEST_CASE("level_hint_for: names the options that resolve it") {
  CHECK(level_hint_for("open", '.') ==
        "if the column knows only two values, say which is low and which is "
        "high with --levels LOW,HIGH");
  CHECK(level_hint_for("Rising", '.') ==
        "the name of an edge is no level; if the column knows only two values, "
        "say which is low and which is high with --levels LOW,HIGH");
  CHECK(level_hint_for("-1", '.') ==
        "if the column knows only two values, say which is low and which is "
        "high with --levels LOW,HIGH; if it holds voltages, where it turns "
        "with --threshold VOLTS; if it holds words, their --radix and a bit, "
        "such as --channel data[0]");
}
