// SPDX-License-Identifier: GPL-3.0-or-later
#include "capture/csv_value_columns.h"

#include <doctest/doctest.h>

#include <initializer_list>
#include <string>
#include <utility>
#include <vector>

using clockassay::AnalogueOptions;
using clockassay::Error;
using clockassay::ErrorCode;
using clockassay::FirstCells;
using clockassay::Layout;
using clockassay::Rational;
using clockassay::read_value_columns;
using clockassay::ReadOptions;
using clockassay::Result;
using clockassay::ValueColumn;
using clockassay::ValueKind;
using clockassay::WarningCode;

namespace {

// Cell k of column c stands at byte 100 c + k.
std::vector<FirstCells> columns(
    std::initializer_list<std::pair<const char*, std::vector<std::string_view>>>
        list) {
  std::vector<FirstCells> result;
  for (const auto& [name, cells] : list) {
    FirstCells column{name, {}};
    for (std::size_t k = 0; k < cells.size(); ++k) {
      column.cells.push_back({cells[k], 100 * result.size() + k});
    }
    result.push_back(std::move(column));
  }
  return result;
}

struct Reading {
  Result<std::vector<ValueColumn>> columns;
  Layout layout;
};

Reading reading(const std::vector<FirstCells>& cells,
                const ReadOptions& options = {}) {
  Reading r{{}, {}};
  r.columns = read_value_columns(cells, '.', options, r.layout);
  return r;
}

std::vector<std::string> selected(const Layout& layout) {
  std::vector<std::string> names;
  for (const auto& channel : layout.selected) names.push_back(channel.name);
  return names;
}

ReadOptions asking(std::vector<std::string> channels) {
  ReadOptions options;
  options.channels = std::move(channels);
  return options;
}

void check_refused(const Reading& r, const char* message, const char* hint,
                   std::int64_t byte) {
  REQUIRE_FALSE(r.columns.has_value());
  CHECK(r.columns.error().code == ErrorCode::kBadData);
  CHECK(r.columns.error().message == message);
  CHECK(r.columns.error().hint == hint);
  CHECK(r.columns.error().byte == byte);
}

using Names = std::vector<std::string>;

const std::vector<FirstCells> kMixed =
    columns({{"v", {"0.01", "3.29", "0.02"}},
             {"clk", {"0", "1", "0"}},
             {"data", {"0x52", "0x53", "0xAD"}}});

}  // namespace

TEST_CASE(
    "value columns: levels are read, what is none is listed as not read") {
  const Reading r = reading(kMixed);
  REQUIRE(r.columns.has_value());
  CHECK(selected(r.layout) == Names{"clk"});
  CHECK((*r.columns)[0].targets.empty());
  CHECK((*r.columns)[1].targets.size() == 1);
  CHECK((*r.columns)[2].targets.empty());
  REQUIRE(r.layout.warnings.size() == 1);
  CHECK(r.layout.warnings[0].code == WarningCode::kColumnsNotRead);
  CHECK(r.layout.warnings[0].message ==
        "not read, since they hold no levels: \"v\", \"data\"; to read one, "
        "name it with --channel, and an error says which option it needs");
  REQUIRE(r.layout.understanding.facts.size() == 2);
  CHECK(r.layout.understanding.facts[0].topic == "column \"clk\"");
  CHECK(r.layout.understanding.facts[0].found == "levels");
  CHECK(r.layout.understanding.facts[0].because ==
        "all of its first 3 cells are");
  CHECK(r.layout.understanding.facts[1].topic == "columns not read");
  CHECK(r.layout.understanding.facts[1].found == "\"v\", \"data\"");
}

TEST_CASE("value columns: naming a channel leaves the others alone") {
  const Reading r = reading(
      columns({{"a", {"open", "closed"}}, {"clk", {"0", "1"}}, {"b", {"?"}}}),
      asking({"clk"}));
  REQUIRE(r.columns.has_value());
  CHECK(selected(r.layout) == Names{"clk"});
  CHECK(r.layout.warnings.empty());
  CHECK(r.layout.channel_names == Names{"a", "clk", "b"});
}

TEST_CASE("value columns: voltages asked for need a threshold") {
  const char* message =
      "found \"0.01\" in the column \"v\", expected a level: 0, 1, low, high, "
      "L, H, off, on, false, true, x, z or nothing";
  // Below the middle of 0.01 … 3.29 are 0.01 and 0.02, lower median 0.01; above
  // is 3.29: midway 1.65.
  const char* hint =
      "if it holds voltages, here 0.01 to 3.29, say where it turns with "
      "--threshold 1.65; or name other columns with --channel";
  check_refused(reading(kMixed, asking({"v"})), message, hint, 0);
  // Nothing else to read: no channel needs to be named.
  check_refused(reading(columns({{"v", {"0.01", "3.29", "0.02"}}})), message,
                hint, 0);
}

TEST_CASE("value columns: voltages with a threshold") {
  ReadOptions options;
  options.analogue = AnalogueOptions{};
  Reading r = reading(kMixed, options);
  REQUIRE(r.columns.has_value());
  CHECK(selected(r.layout) == Names{"v", "clk"});
  CHECK(r.layout.selected[0].interpolated);
  CHECK_FALSE(r.layout.selected[1].interpolated);
  CHECK((*r.columns)[0].kind == ValueKind::kAnalogue);
  REQUIRE(r.layout.warnings.size() == 2);
  CHECK(r.layout.warnings[0].code == WarningCode::kThresholdAutomatic);
  // A tenth of 3.29 - 0.01.
  CHECK(r.layout.warnings[0].message ==
        "the column \"v\" turns at 1.65 with a hysteresis of 0.328, by its "
        "first rows, which are low about 0.01 and high about 3.29; state both "
        "with --threshold VOLTS,HYSTERESIS");
  CHECK(r.layout.understanding.facts[0].found ==
        "voltages, which turn at 1.65 with a hysteresis of 0.328");
  CHECK(r.layout.understanding.facts[0].because == "by its first rows");
  options.analogue = AnalogueOptions{Rational(1), {}};
  options.channels = {"v"};
  r = reading(kMixed, options);
  CHECK(r.layout.warnings.empty());
  CHECK(r.layout.understanding.facts[0].because ==
        "--threshold, and the hysteresis a tenth of the swing of its first "
        "rows");
  options.analogue = AnalogueOptions{Rational(1), Rational(0)};
  r = reading(kMixed, options);
  CHECK(r.layout.understanding.facts[0].found ==
        "voltages, which turn at 1 with a hysteresis of 0");
  CHECK(r.layout.understanding.facts[0].because == "--threshold");
}

TEST_CASE("value columns: one voltage alone has no middle") {
  ReadOptions options;
  options.analogue = AnalogueOptions{};
  check_refused(reading(columns({{"v", {"3.3", "3.30", "3.3"}}}), options),
                "found only the value 3.3 in the first rows, expected two "
                "levels, in the column \"v\"",
                "say where low turns to high with --threshold VOLTS", 0);
}

TEST_CASE("value columns: two values that are no levels are refused") {
  const char* expected =
      ", expected a level: 0, 1, low, high, L, H, off, on, false, true, x, z "
      "or nothing";
  struct Case {
    std::vector<std::string_view> cells;
    const char* found;
    const char* hint;
    std::int64_t byte;
  };
  for (const Case& c :
       {Case{{"1", "-1", "1"},
             "-1",
             "the column knows two values, \"1\" and \"-1\": say which is low "
             "and which is high with --levels -1,1; if it holds voltages, here "
             "-1 to 1, say where it turns with --threshold 0",
             101},
        Case{{"0", "5", "0", "5"},
             "5",
             "the column knows two values, \"0\" and \"5\": say which is low "
             "and which is high with --levels 0,5; if it holds voltages, here "
             "0 to 5, say where it turns with --threshold 2.5",
             101},
        Case{{"rising", "falling"},
             "rising",
             "the column knows two values, \"rising\" and \"falling\": say "
             "which is low and which is high with --levels falling,rising",
             100},
        Case{{"open", "closed", "x", "open"},
             "open",
             "the column knows two values, \"open\" and \"closed\": say which "
             "is low and which is high with --levels LOW,HIGH",
             100}}) {
    CAPTURE(std::string(c.found));
    const auto cells = columns({{"clk", {"0", "1"}}, {"s", c.cells}});
    check_refused(
        reading(cells),
        ("found \"" + std::string(c.found) + "\" in the column \"s\"" +
         expected)
            .c_str(),
        (std::string(c.hint) + "; or name other columns with --channel")
            .c_str(),
        c.byte);
    CHECK(reading(cells, asking({"clk"})).columns.has_value());
  }
}

TEST_CASE("value columns: --levels says what a pair means") {
  ReadOptions options;
  options.csv.levels = {{"-1", "1"}};
  const Reading r = reading(
      columns({{"clk", {"0", "1"}}, {"s", {"-1", "1.0", "", "x"}}}), options);
  REQUIRE(r.columns.has_value());
  CHECK(selected(r.layout) == Names{"clk", "s"});
  CHECK(r.layout.understanding.facts[0].because ==
        "all of its first 2 cells are");
  CHECK(r.layout.understanding.facts[1].because == "--levels -1,1");
  // The middle of the range is 3: below it the median is 1, above it 7.
  check_refused(
      reading(columns({{"s", {"-1", "1.0", "2", "7"}}}), options),
      "found \"2\" in the column \"s\", expected a level: \"-1\", \"1\", x, z "
      "or nothing",
      "if it holds voltages, here -1 to 7, say where it turns with --threshold "
      "4; or name other columns with --channel",
      2);
}

TEST_CASE("value columns: a stray word among levels is never left out") {
  check_refused(
      reading(columns({{"a", {"0", "1"}}, {"b", {"0", "1", "maybe", "no"}}})),
      "found \"maybe\" in the column \"b\", expected a level: 0, 1, low, high, "
      "L, H, off, on, false, true, x, z or nothing",
      "if the column knows only two values, say which is low and which is high "
      "with --levels LOW,HIGH; or name other columns with --channel",
      102);
}

TEST_CASE("value columns: words need a base and a bit") {
  const auto binary = columns({{"bus", {"01010010", "01010011", "01010010"}}});
  const char* message =
      "found \"01010010\" in the column \"bus\", expected a level: 0, 1, low, "
      "high, L, H, off, on, false, true, x, z or nothing";
  const char* hint =
      "if it holds words, say their base with --radix 2, 10 or 16 and a bit "
      "with --channel bus[0]; or name other columns with --channel";
  check_refused(reading(binary), message, hint, 0);
  check_refused(reading(binary, asking({"bus"})), message, hint, 0);
  check_refused(reading(binary, asking({"bus[0]"})),
                "found the bit \"bus[0]\" asked for, of words that do not say "
                "their base",
                "say the base with --radix 2, 10 or 16", 0);
  ReadOptions options = asking({"bus[1]", "bus[0]"});
  options.csv.radix = 2;
  const Reading r = reading(binary, options);
  REQUIRE(r.columns.has_value());
  CHECK(selected(r.layout) == Names{"bus[0]", "bus[1]"});
  CHECK((*r.columns)[0].radix == 2);
  CHECK((*r.columns)[0].targets[1].bit == 1);
  CHECK(r.layout.understanding.facts[0].found == "bit 0 of words in base 2");
  CHECK(r.layout.understanding.facts[0].because == "--radix");
  CHECK(r.layout.channel_names == Names{"bus[7:0]"});
  // With the base, only the bit is missing.
  options.channels = {};
  check_refused(reading(binary, options), message,
                "name a bit of the word with --channel bus[0]; or name other "
                "columns with --channel",
                0);
  // Hex digits without a prefix look like nothing else.
  check_refused(
      reading(columns({{"bus", {"5a", "52", "ff"}}})),
      "found \"5a\" in the column \"bus\", expected a level: 0, 1, low, high, "
      "L, H, off, on, false, true, x, z or nothing",
      "if it holds words, say their base with --radix 16 and a bit with "
      "--channel bus[0]; or name other columns with --channel",
      0);
}

TEST_CASE("value columns: ranges of any form number the bits of a bus") {
  ReadOptions options;
  options.csv.radix = 16;
  for (const auto& [name, bit] :
       {std::pair("d[15:8]", "d[8]"), std::pair("d[15..8]", "d[8]"),
        std::pair("d(15 downto 8)", "d[8]"), std::pair("d<8:15>", "d[8]"),
        std::pair("d(8 to 15)", "d[8]"), std::pair("d(mV)", "d(mV)[0]")}) {
    const std::string which(name);
    CAPTURE(which);
    const auto words = columns({{name, {"5a", "52", "ff"}}});
    const Reading refused = reading(words);
    REQUIRE_FALSE(refused.columns.has_value());
    CHECK(refused.columns.error().hint ==
          "if it holds words, say their base with --radix 16 and a bit with "
          "--channel " +
              std::string(bit) + "; or name other columns with --channel");
    // The bit that the hint names is there, whether words were seen or not.
    options.channels = {bit};
    CHECK(selected(reading(words, options).layout) == Names{bit});
    const auto levels = columns({{name, {"0", "1", "0"}}});
    CHECK(selected(reading(levels, options).layout) == Names{bit});
  }
}

TEST_CASE("value columns: words in a form that is not read are named") {
  check_refused(
      reading(columns({{"bus", {"24h", "25h", "26h"}}}), asking({"bus[3]"})),
      "found \"24h\" in the column \"bus\", expected a word of "
      "digits",
      "words with an h behind are not read; write 0x in front "
      "instead",
      0);
}

TEST_CASE("value columns: words may have bits that are not known") {
  ReadOptions options = asking({"d[0]"});
  options.csv.radix = 2;
  using Cells = std::vector<std::string_view>;
  for (const Cells& cells :
       {Cells{"xxxx0000", "xxxx0001", "xxxx0010"},
        Cells{"00000000", "00000001", "zzzz0010"}, Cells{"1x", "0", "10"},
        Cells{"x", "xxxxxxxx", "zzzzzzzz", "xxxxzzzz"}}) {
    CAPTURE(std::string(cells.back()));
    for (const char* name : {"d[7:0]", "d"}) {
      const Reading r = reading(columns({{name, cells}}), options);
      REQUIRE_MESSAGE(r.columns.has_value(), r.columns.error().message);
      CHECK(selected(r.layout) == Names{"d[0]"});
      CHECK((*r.columns)[0].kind == ValueKind::kWords);
      CHECK((*r.columns)[0].declared_width.has_value() ==
            (std::string(name) == "d[7:0]"));
    }
  }
  // In base 10 a word is known or not as a whole.
  const auto binary = columns({{"d", {"xxxx0000", "xxxx0001", "xxxx0010"}}});
  check_refused(reading(binary, asking({"d[0]"})),
                "found the bit \"d[0]\" asked for, of words that do not say "
                "their base",
                "say the base with --radix 2 or 16", 0);
  check_refused(
      reading(columns({{"d", {"25", "26", "x7"}}}), asking({"d[0]"})),
      "found the bit \"d[0]\" asked for, of words that do not say their base",
      "say the base with --radix 16", 0);
  // What stands between levels is no bus.
  CHECK_FALSE(reading(columns({{"a", {"0", "1"}}, {"b", {"0", "1", "xx"}}}))
                  .columns.has_value());
}

TEST_CASE("value columns: a cell that is no word is named") {
  const auto signs = columns({{"d", {"5", "-128", "-127", "3"}}});
  const char* hint =
      "words have no sign; write the bits of a negative value, such as 0x80 "
      "for -128 in 8 bits";
  check_refused(reading(signs, asking({"d[0]"})),
                "found \"-128\" in the column \"d\", expected a word of digits",
                hint, 1);
  ReadOptions options = asking({"d[0]"});
  options.csv.radix = 10;
  check_refused(reading(signs, options),
                "found \"-128\" in the column \"d\", expected a word of digits",
                hint, 1);
  check_refused(reading(columns({{"d", {"5", "0.5", "17", "3"}}}), options),
                "found \"0.5\" in the column \"d\", expected a word of at most "
                "64 bits in base 10",
                "say another base with --radix, or name other columns with "
                "--channel",
                1);
}

TEST_CASE("value columns: a threshold that no column uses is a warning") {
  ReadOptions options;
  options.analogue = AnalogueOptions{Rational(5), {}};
  const auto levels = columns({{"clk", {"0", "1", "0"}}});
  const Reading unused = reading(levels, options);
  REQUIRE(unused.layout.warnings.size() == 1);
  CHECK(unused.layout.warnings[0].code == WarningCode::kOptionUnused);
  CHECK(unused.layout.warnings[0].message ==
        "--threshold was not used: no column that is read holds voltages, only "
        "levels or words");
  const Reading used =
      reading(columns({{"clk", {"0", "1", "0"}}, {"v", {"0.1", "7.0", "0.2"}}}),
              options);
  CHECK(used.layout.warnings.empty());
}

TEST_CASE("value columns: a threshold does not make voltages of words") {
  ReadOptions options;
  options.analogue = AnalogueOptions{Rational(1), {}};
  CHECK_FALSE(
      reading(columns({{"bus", {"01010010", "11010011", "01010010"}}}), options)
          .columns.has_value());
}

TEST_CASE("value columns: a prefix states the base") {
  const Reading whole = reading(kMixed, asking({"data"}));
  REQUIRE_FALSE(whole.columns.has_value());
  CHECK(whole.columns.error().message ==
        "found channel \"data[7:0]\" to be a bus of 8 bits, expected one of "
        "its bits");
  CHECK(whole.columns.error().hint == "name one of them, such as \"data[0]\"");
  check_refused(reading(columns({{"data", {"0x52", "0x53", "0xAD"}}})),
                "found \"0x52\" in the column \"data\", expected a level: 0, "
                "1, low, high, L, H, off, on, false, true, x, z or nothing",
                "name a bit of the word with --channel data[0]; or name other "
                "columns with --channel",
                0);
  const Reading bit = reading(kMixed, asking({"data[7]"}));
  REQUIRE(bit.columns.has_value());
  CHECK((*bit.columns)[2].radix == 16);
  CHECK(bit.layout.understanding.facts[0].because == "the prefix of its cells");
  const Reading beyond = reading(kMixed, asking({"data[8]"}));
  REQUIRE_FALSE(beyond.columns.has_value());
  CHECK(beyond.columns.error().message ==
        "found no bit 8 in the bus \"data[7:0]\"");
  CHECK(beyond.columns.error().hint ==
        "name a bit from \"data[7]\" to \"data[0]\"");
}

TEST_CASE("value columns: bits of a column that so far shows only 0 and 1") {
  ReadOptions options = asking({"bus[3]"});
  options.csv.radix = 16;
  const Reading r = reading(columns({{"bus", {"0", "1", "0"}}}), options);
  REQUIRE(r.columns.has_value());
  CHECK(selected(r.layout) == Names{"bus[3]"});
  CHECK((*r.columns)[0].kind == ValueKind::kWords);
}

TEST_CASE("value columns: several bits of such a column are one column's") {
  ReadOptions options = asking({"d[1]", "d[0]"});
  options.csv.radix = 2;
  for (const char* first : {"10", "0"}) {
    CAPTURE(std::string(first));
    const Reading r = reading(columns({{"d", {first, "1", first}}}), options);
    REQUIRE_MESSAGE(r.columns.has_value(), r.columns.error().message);
    CHECK(selected(r.layout) == Names{"d[0]", "d[1]"});
    REQUIRE((*r.columns)[0].targets.size() == 2);
    CHECK((*r.columns)[0].targets[0].bit == 0);
    CHECK((*r.columns)[0].targets[1].bit == 1);
  }
}

TEST_CASE("value columns: a column is read as a whole or by its bits") {
  ReadOptions options = asking({"bus", "bus[3]"});
  options.csv.radix = 16;
  const Reading r = reading(columns({{"bus", {"0", "1", "0"}}}), options);
  REQUIRE_FALSE(r.columns.has_value());
  CHECK(r.columns.error().code == ErrorCode::kUsage);
  CHECK(r.columns.error().message ==
        "found the column \"bus\" asked for both as a whole and by a bit");
  CHECK(r.columns.error().hint == "name one or the other with --channel");
}

TEST_CASE("value columns: a range in the name numbers the bits") {
  const Reading down = reading(columns({{"d[15:8]", {"0x52", "0x53"}}}),
                               asking({"d[15]", "d[8]"}));
  REQUIRE(down.columns.has_value());
  CHECK(selected(down.layout) == Names{"d[8]", "d[15]"});
  CHECK((*down.columns)[0].targets[0].bit == 0);
  CHECK((*down.columns)[0].targets[1].bit == 7);
  const Reading up =
      reading(columns({{"d[0:7]", {"0x52", "0x53"}}}), asking({"d[0]"}));
  REQUIRE(up.columns.has_value());
  CHECK((*up.columns)[0].targets[0].bit == 7);
}

TEST_CASE("value columns: an empty column is no level known, not an error") {
  const Reading r = reading(columns({{"a", {"", ""}}, {"b", {"x", "Z"}}}));
  REQUIRE(r.columns.has_value());
  CHECK(selected(r.layout) == Names{"a", "b"});
}

TEST_CASE("value columns: notes beside the levels are not read") {
  const Reading r = reading(
      columns({{"clk", {"0", "1", "0"}}, {"note", {"go", "stop", "trigger"}}}));
  REQUIRE(r.columns.has_value());
  REQUIRE(r.layout.warnings.size() == 1);
  CHECK(r.layout.warnings[0].code == WarningCode::kColumnsNotRead);
}
