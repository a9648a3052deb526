// SPDX-License-Identifier: GPL-3.0-or-later
#include "capture/csv_header.h"

#include <doctest/doctest.h>

#include <string>
#include <utility>
#include <vector>

using clockassay::column_name;
using clockassay::ColumnMeaning;
using clockassay::CsvColumns;
using clockassay::CsvOptions;
using clockassay::CsvRows;
using clockassay::CsvTimeBase;
using clockassay::CsvTimeUnit;
using clockassay::HeaderCells;
using clockassay::LoneEdges;
using clockassay::read_csv_columns;
using clockassay::Result;

namespace {

using Names = std::vector<std::string>;
using Indices = std::vector<std::size_t>;

Result<CsvColumns> columns_of(const Names& names,
                              const CsvOptions& options = {},
                              const Names& units = {}) {
  return read_csv_columns(HeaderCells{names, units, names.size()}, options);
}

CsvOptions with_time(const char* column) {
  CsvOptions options;
  options.time_column = column;
  return options;
}

struct Refused {
  Names names;
  CsvOptions options;
  const char* message;
  const char* hint;
};

}  // namespace

TEST_CASE("read_csv_columns: every way to write the unit of time") {
  const std::pair<const char*, int> units[] = {
      {"time_s", 0},
      {"Time [ns]", -9},
      {"Time(us)", -6},
      {"t/ms", -3},
      {"time (s)", 0},
      {"TIMESTAMP_ps", -12},
      {"Time [fs]", -15},
      {"time (\xC2\xB5s)", -6},
      {"time_\xCE\xBCs", -6},
      {"time [\xB5s]", -6},
      {"time stamp [ ms ]", -3},
      {"Time (seconds)", 0},
      {"elapsed time [Microseconds]", -6},
      {"Time, ns", -9}};
  for (const auto& [name, exponent] : units) {
    const std::string which(name);
    CAPTURE(which);
    const auto columns = columns_of({name, "clk"});
    REQUIRE(columns.has_value());
    CHECK(columns->unit_exponent == exponent);
    CHECK(columns->unit_because == "in the header");
    CHECK(columns->time == 0u);
    CHECK(columns->values == Indices{1});
    CHECK_FALSE(columns->lone.has_value());
  }
}

TEST_CASE(
    "read_csv_columns: a name that does not say the unit leaves it open") {
  for (const char* name : {"time", "time_S", "time_MS", "time s", "times",
                           "time_min", "time_", "time ()"}) {
    CAPTURE(std::string(name));
    const auto columns = columns_of({name, "clk"});
    if (columns) CHECK_FALSE(columns->unit_exponent.has_value());
  }
}

TEST_CASE("read_csv_columns: a name that does not say time is none") {
  for (const char* name : {"delta_s", "dt_us", "duration_s", "period_ns",
                           "clk_s", "_s", "date", "x", ""}) {
    CAPTURE(std::string(name));
    CHECK_FALSE(columns_of({name, "clk"}).has_value());
  }
}

TEST_CASE("read_csv_columns: the time may stand anywhere") {
  const auto columns = columns_of({"clk", "Time (us)", "en"});
  REQUIRE(columns.has_value());
  CHECK(columns->time == 1u);
  CHECK(columns->values == Indices{0, 2});
}

TEST_CASE("read_csv_columns: a column without a name is called by its number") {
  const auto columns = columns_of({"time_s", "", "en"});
  REQUIRE(columns.has_value());
  CHECK(columns->names == Names{"time_s", "column 2", "en"});
}

TEST_CASE("read_csv_columns: a row of units says the unit") {
  auto columns = columns_of({"time", "clk"}, {}, {"(ms)", "V"});
  REQUIRE(columns.has_value());
  CHECK(columns->unit_exponent == -3);
  CHECK(columns->unit_because == "in the row of units");
  CHECK(columns_of({"time_ms", "clk"}, {}, {"ms", ""}).has_value());
}

TEST_CASE("read_csv_columns: columns that count samples have no unit") {
  for (const char* name : {"sample", "Sample #", "Samples", "index",
                           "sample number", "Sample No."}) {
    CAPTURE(std::string(name));
    const auto columns = columns_of({name, "clk"});
    REQUIRE(columns.has_value());
    CHECK(columns->base == CsvTimeBase::kSamples);
  }
  // Beside a time column it is a column like others.
  CHECK(columns_of({"sample", "time_s", "clk"})->time == 1u);
  CsvOptions options;
  options.time_unit = CsvTimeUnit{true, 0};
  CHECK(columns_of({"time", "clk"}, options)->base == CsvTimeBase::kSamples);
  options.time_unit = CsvTimeUnit{false, -6};
  CHECK(columns_of({"sample", "clk"}, options)->base == CsvTimeBase::kSeconds);
}

TEST_CASE("read_csv_columns: the time column as stated, by name or number") {
  for (const char* stated : {"x", "2"}) {
    const auto columns = columns_of({"time_s", "x", "clk"}, with_time(stated));
    REQUIRE(columns.has_value());
    CHECK(columns->time == 1u);
    CHECK(columns->values == Indices{2});
    CHECK(columns->ignored == Indices{0});
  }
  // The unit may be left out, and so may the case.
  CHECK(columns_of({"clk", "Capture [us]"}, with_time("capture"))->time == 1u);
  const auto none = columns_of({"a", "b"}, with_time("none"));
  REQUIRE(none.has_value());
  CHECK_FALSE(none->time.has_value());
  CHECK(none->base == CsvTimeBase::kRowNumber);
  CHECK(none->values == Indices{0, 1});
}

TEST_CASE("read_csv_columns: a time between channels is for those after it") {
  const Names names{"times [s]", "a", "time [s]", "b", "c", "t [s]", "d"};
  const auto columns = columns_of(names, with_time("3"));
  REQUIRE(columns.has_value());
  CHECK(columns->values == Indices{3, 4});
  CHECK(columns->ignored == Indices{0, 1, 5, 6});
  const auto last = columns_of({"time_s", "a", "t_s", "b"}, with_time("t_s"));
  CHECK(last->values == Indices{3});
  const auto first = columns_of({"time_s", "a", "t_s", "b"}, with_time("1"));
  CHECK(first->values == Indices{1});
  // Two times before all channels are two ways to say one.
  const auto both = columns_of({"time_s", "time_us", "a"}, with_time("2"));
  CHECK(both->values == Indices{2});
}

TEST_CASE("read_csv_columns: a lone column must say what its edges are") {
  for (const char* name : {"rising_s", "rising_edge_ns", "Rising edges [us]"}) {
    CAPTURE(std::string(name));
    const auto columns = columns_of({name});
    REQUIRE(columns.has_value());
    CHECK(columns->lone == LoneEdges::kRising);
    CHECK(columns->names == Names{name});
  }
  for (const char* name : {"time_s", "edge_s", "edges_us", "falling_s"}) {
    CAPTURE(std::string(name));
    CHECK_FALSE(columns_of({name}).has_value());
  }
  CsvOptions options;
  options.edges = LoneEdges::kBothFallFirst;
  CHECK(columns_of({"edge_s"}, options)->lone == LoneEdges::kBothFallFirst);
  CHECK(columns_of({"time_s"}, options)->names == Names{"time_s"});
  CHECK_FALSE(columns_of({"rising_s", "clk"}).has_value());
}

TEST_CASE("read_csv_columns: the long form by its names or as stated") {
  const auto named = columns_of({"time_s", "Value", "Channel", "note"});
  REQUIRE(named.has_value());
  CHECK(named->event_channel == 2u);
  CHECK(named->event_level == 1u);
  CHECK(named->ignored == Indices{3});
  CsvOptions options;
  options.rows = CsvRows::kEvents;
  const auto stated = columns_of({"time_s", "pin", "to"}, options);
  REQUIRE(stated.has_value());
  CHECK(stated->event_channel == 1u);
  CHECK(stated->event_level == 2u);
  options.rows = CsvRows::kChanges;
  CHECK_FALSE(columns_of({"time_s", "channel", "level"}, options)->event_level);
}

TEST_CASE("read_csv_columns: every refusal names the way out") {
  CsvOptions steps;
  steps.time_is_step = true;
  steps.time_column = "none";
  CsvOptions edges;
  edges.edges = LoneEdges::kRising;
  CsvOptions events;
  events.rows = CsvRows::kEvents;
  const Refused cases[] = {
      {{"time_s", "time_us", "clk"},
       {},
       "found times in the columns 1 and 2, expected one time for all channels",
       "state --time-column; of times that stand between the channels each is "
       "for those after it"},
      {{"delta_s", "clk"},
       {},
       "found \"delta_s\" as the name of a column of times since the row "
       "before, expected times since a fixed instant",
       "state --time-steps if every time counts from the row before"},
      {{"Time since previous [ns]", "clk"},
       with_time("1"),
       "found \"Time since previous [ns]\" as the name of the time column, "
       "expected times since a fixed instant",
       "state --time-steps if every time counts from the row before"},
      {{"clk", "en"},
       {},
       "found \"clk\" as the name of the first column, and none that is the "
       "time, expected one such as time_s",
       "rename the column of the time since a fixed instant, or state "
       "--time-column and --time-unit"},
      {{"time_s", "clk"},
       with_time("3"),
       "found no column \"3\" among the 2 columns, expected the one "
       "--time-column states",
       "state its name, or its number from 1 on"},
      {{"time_s", "clk"},
       steps,
       "found --time-steps together with --time-column none",
       "leave one of them out"},
      {{"time_s", "clk"},
       edges,
       "found 2 columns with --edges, which is for a lone column of times",
       "state with --time-column which of them holds the times of the edges, "
       "or leave --edges out"},
      {{"rise_s", "fall_s"},
       {},
       "found \"rise_s\" as the name of one of several columns, and none that "
       "is the time, expected one such as time_s",
       "if it holds the times of one kind of edges, state --time-column rise_s "
       "--edges rising; other columns are not read"},
      {{"time_s", "a", "b", "c"},
       events,
       "found 3 columns beside the time with --rows events, and no names that "
       "say which has the channel and which the level",
       "name them channel and level in the header row"},
      {{},
       {},
       "found no header row, expected the names of the columns, with the unit "
       "of time",
       "add a first line such as time_s,clk, or state --time-column and "
       "--time-unit"}};
  for (const Refused& c : cases) {
    CAPTURE(std::string(c.message));
    const auto columns = columns_of(c.names, c.options);
    REQUIRE_FALSE(columns.has_value());
    CHECK(columns.error().message == c.message);
    CHECK(columns.error().hint == c.hint);
  }
  const auto units = columns_of({"time_s", "clk"}, {}, {"ms", ""});
  REQUIRE_FALSE(units.has_value());
  CHECK(units.error().message ==
        "found the unit \"ms\" below the column name \"time_s\", expected one "
        "unit of time");
  CHECK(units.error().hint == "state --time-unit");
}

TEST_CASE("column_name: encoder and motor signals are no time") {
  // A motor's step input or an encoder's A are channels.
  for (const char* name : {"step", "a", "dir", "tick", "count"}) {
    CAPTURE(std::string(name));
    CHECK(column_name(name).meaning == ColumnMeaning::kOther);
  }
}
