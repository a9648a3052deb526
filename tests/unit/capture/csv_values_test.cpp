// SPDX-License-Identifier: GPL-3.0-or-later
#include "capture/csv_values.h"

#include <doctest/doctest.h>

#include <string>
#include <vector>

using clockassay::analogue_swing;
using clockassay::AnalogueOptions;
using clockassay::close_values;
using clockassay::CsvValues;
using clockassay::ErrorCode;
using clockassay::has_analogue;
using clockassay::Level;
using clockassay::LevelEvent;
using clockassay::LevelWords;
using clockassay::may_be_cut;
using clockassay::PieceChannel;
using clockassay::plan_analogue;
using clockassay::Rational;
using clockassay::Ticks;
using clockassay::ValueColumn;
using clockassay::ValueKind;
using clockassay::WarningCode;

namespace {

ValueColumn levels(std::size_t slot) {
  ValueColumn column;
  column.name = "clk";
  column.targets = {{slot, 0}};
  return column;
}

ValueColumn voltages(std::size_t slot) {
  ValueColumn column;
  column.name = "v";
  column.kind = ValueKind::kAnalogue;
  column.analogue =
      plan_analogue({0, 0, 0, 0, -3}, {Rational(1), Rational(0)}).value();
  column.targets = {{slot, 0}};
  return column;
}

ValueColumn words(int radix) {
  ValueColumn column;
  column.name = "data";
  column.kind = ValueKind::kWords;
  column.radix = radix;
  column.targets = {{0, 0}, {1, 3}};
  return column;
}

std::vector<LevelEvent> events_of(const PieceChannel& channel) {
  std::vector<LevelEvent> events;
  for (const auto& item : channel.items) {
    if (const auto* event = std::get_if<LevelEvent>(&item)) {
      events.push_back(*event);
    }
  }
  return events;
}

}  // namespace

TEST_CASE("CsvValues: every cell reaches its channel") {
  const std::vector<ValueColumn> columns = {words(16), levels(2), voltages(3),
                                            ValueColumn()};
  CHECK(has_analogue(columns));
  CsvValues values(columns, 4, {});
  CHECK_FALSE(values.take(0, Ticks(0), "9").has_value());
  CHECK_FALSE(values.take(1, Ticks(0), "low").has_value());
  CHECK_FALSE(values.take(2, Ticks(0), "0.5").has_value());
  CHECK_FALSE(values.take(3, Ticks(0), "anything").has_value());
  CHECK_FALSE(values.take(0, Ticks(10), "x0").has_value());
  CHECK_FALSE(values.take(1, Ticks(10), "").has_value());
  CHECK_FALSE(values.take(2, Ticks(10), "").has_value());
  CHECK_FALSE(values.take(2, Ticks(20), "1.5").has_value());
  const auto channels = values.finish();
  using Events = std::vector<LevelEvent>;
  CHECK(events_of(channels[0]) ==
        Events{{Ticks(0), Level::kHigh}, {Ticks(10), Level::kLow}});
  CHECK(events_of(channels[1]) ==
        Events{{Ticks(0), Level::kHigh}, {Ticks(10), Level::kLow}});
  CHECK(events_of(channels[2]) == Events{{Ticks(0), Level::kLow}});
  // The empty cell at 10 is no sample: half of the way from 0 to 20.
  CHECK(events_of(channels[3]) ==
        Events{{Ticks(0), Level::kLow}, {Ticks(10), Level::kHigh}});
}

TEST_CASE("CsvValues: a word wider than the name of its column says") {
  std::vector<ValueColumn> columns = {words(10), words(16)};
  columns[0].name = "d[15:8]";
  columns[0].declared_width = 8;
  columns[1].name = "d[0:0]";
  columns[1].declared_width = 1;
  CsvValues values(columns, 2, {});
  CHECK_FALSE(values.take(0, Ticks(0), "255").has_value());
  CHECK_FALSE(values.take(1, Ticks(0), "01").has_value());
  CHECK_FALSE(values.take(1, Ticks(0), "x").has_value());
  // 300 = 256 + 44.
  const auto error = values.take(0, Ticks(1), "300");
  REQUIRE(error.has_value());
  CHECK(error->code == ErrorCode::kBadData);
  CHECK(error->message ==
        "found \"300\" in the column \"d[15:8]\", expected a word of at most "
        "8 bits as the column's name says, and in base 10 it has 9");
  CHECK(error->hint ==
        "if the words are in another base, say so with --radix; else correct "
        "the range in the name of the column");
  const auto one = values.take(1, Ticks(1), "7");
  REQUIRE(one.has_value());
  CHECK(one->message ==
        "found \"7\" in the column \"d[0:0]\", expected a word of at most 1 "
        "bit as the column's name says, and in base 16 it has 3");
  // All 64 bits of a word may be declared.
  columns[1].declared_width = 64;
  CHECK_FALSE(values.take(1, Ticks(2), "ffffffffffffffff").has_value());
}

TEST_CASE("CsvValues: bits that may be a prefix are never read as one") {
  std::vector<ValueColumn> columns = {words(2)};
  CsvValues values(columns, 2, {});
  CHECK_FALSE(values.take(0, Ticks(0), "xx01").has_value());
  CHECK_FALSE(values.take(0, Ticks(1), "0b0x01").has_value());
  CHECK_FALSE(values.take(0, Ticks(2), "0x52").has_value());
  const auto error = values.take(0, Ticks(3), "0x01");
  REQUIRE(error.has_value());
  CHECK(error->message ==
        "found \"0x01\" in the column \"data\", expected a word of which is "
        "clear whether 0x states base 16 or is two bits");
  CHECK(error->hint == "write 0b in front if its digits are bits");
  columns[0].prefixed = true;
  CHECK_FALSE(values.take(0, Ticks(4), "0x01").has_value());
  columns = {words(16)};
  CHECK_FALSE(values.take(0, Ticks(5), "0x01").has_value());
}

TEST_CASE("CsvValues: cells that cannot be read are refused with a way out") {
  const std::vector<ValueColumn> columns = {words(2), levels(2), voltages(3)};
  CsvValues values(columns, 4, {});
  struct Case {
    std::size_t column;
    const char* cell;
    const char* message;
    const char* hint;
  };
  for (const Case& c :
       {Case{0, "52",
             "found \"52\" in the column \"data\", expected a word of at most "
             "64 bits in base 2",
             "say another base with --radix, or name other columns with "
             "--channel"},
        Case{0, "-128",
             "found \"-128\" in the column \"data\", expected a word of at "
             "most 64 bits in base 2",
             "words have no sign; write the bits of a negative value, such as "
             "0x80 for -128 in 8 bits"},
        Case{1, "3.3",
             "found \"3.3\" in the column \"clk\", expected a level: 0, 1, "
             "low, high, L, H, off, on, false, true, x, z or nothing",
             "if the column knows only two values, say which is low and which "
             "is high with --levels LOW,HIGH; if it holds voltages, where it "
             "turns with --threshold VOLTS; if it holds words, their --radix "
             "and a bit, such as --channel data[0]"},
        Case{2, "NaN",
             "found \"NaN\" in the column \"v\", expected a decimal number or "
             "nothing",
             "leave the cell empty where there is no sample, or delete the "
             "row"},
        Case{2, "x",
             "found \"x\" in the column \"v\", expected a decimal number or "
             "nothing",
             "leave the cell empty where there is no sample, or delete the "
             "row"},
        Case{2, "0.0005",
             "found \"0.0005\" in the column \"v\", expected no digit below "
             "1e-3, far below those of the first rows",
             "write the values with fewer digits"},
        Case{2, "1e36",
             "found \"1e36\" in the column \"v\", expected a value of the size "
             "of those in the first rows",
             "write the values with fewer digits, or state a threshold of "
             "their size with --threshold VOLTS"}}) {
    const auto error = values.take(c.column, Ticks(0), c.cell);
    REQUIRE(error.has_value());
    CHECK(error->message == c.message);
    CHECK(error->hint == c.hint);
  }
}

TEST_CASE("CsvValues: what is known at the end of the body") {
  std::vector<ValueColumn> columns = {levels(0), voltages(1), voltages(2)};
  columns[2].track = 1;
  columns[2].name = "w";
  CsvValues values(columns, 3, {});
  values.take(1, Ticks(0), "0.25");
  values.take(1, Ticks(7), "-0.5");
  values.take(2, Ticks(0), "0");
  values.take(2, Ticks(3), "2");
  const auto held = values.save();
  const auto closing = close_values(columns, 3, held);
  REQUIRE(closing.channels.size() == 3);
  CHECK(closing.channels[0].longest_step == Ticks(0));
  CHECK(closing.channels[1].longest_step == Ticks(7));
  CHECK(closing.channels[2].longest_step == Ticks(3));
  REQUIRE(closing.warnings.size() == 1);
  CHECK(closing.warnings[0].code == WarningCode::kThresholdNotCrossed);
  CHECK(closing.warnings[0].message ==
        "the column \"v\" lies between -0.5 and 0.25 and never turns at 1 with "
        "a hysteresis of 0; if it holds a clock, state another threshold");
  CHECK(close_values({columns.data(), 1}, 1, {}).channels.empty());
}

TEST_CASE("may_be_cut: a number or word may be half of one") {
  ValueColumn column = levels(0);
  CHECK_FALSE(may_be_cut(column, "high"));
  CHECK_FALSE(may_be_cut(column, ""));
  CHECK(may_be_cut(column, "hi"));
  column.words = LevelWords({{"1", "10"}}, '.');
  CHECK(may_be_cut(column, "1"));
  CHECK_FALSE(may_be_cut(column, "10"));
  // "0.0" is a low by its value, and all but the last digit of a high.
  for (const auto& words :
       {LevelWords({{"0", "0.05"}}, '.'), LevelWords({{"0.05", "0"}}, '.')}) {
    column.words = words;
    CHECK(may_be_cut(column, "0"));
    CHECK(may_be_cut(column, "0.0"));
    CHECK_FALSE(may_be_cut(column, "0.05"));
    // No change at the last time, however it would have gone on.
    CHECK_FALSE(may_be_cut(column, ""));
  }
  column = voltages(0);
  CHECK(may_be_cut(column, "0.25"));
  column.fixed_size = 4;
  CHECK_FALSE(may_be_cut(column, "0.25"));
  CHECK(may_be_cut(column, "0.2"));
  CHECK(may_be_cut(column, ""));
  column = words(16);
  column.fixed_size = 2;
  CHECK_FALSE(may_be_cut(column, "5a"));
  CHECK(may_be_cut(column, "5"));
  CHECK_FALSE(may_be_cut(ValueColumn(), "anything"));
}
