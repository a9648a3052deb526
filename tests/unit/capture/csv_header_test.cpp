// SPDX-License-Identifier: GPL-3.0-or-later
#include "capture/csv_header.h"

#include <doctest/doctest.h>

#include <string>
#include <utility>

using clockassay::read_csv_columns;

TEST_CASE("read_csv_columns: every way to write the unit of time") {
  const std::pair<const char*, int> units[] = {
      {"time_s", 0},        {"Time [ns]", -9},        {"Time(us)", -6},
      {"t/ms", -3},         {"time (s)", 0},          {"TIMESTAMP_ps", -12},
      {"Time [fs]", -15},   {"time (\xC2\xB5s)", -6}, {"time_\xCE\xBCs", -6},
      {"time [\xB5s]", -6}, {"time stamp [ ms ]", -3}};
  for (const auto& [name, exponent] : units) {
    CAPTURE(std::string(name));
    const auto columns = read_csv_columns(std::string(name) + ",clk", ',');
    REQUIRE(columns.has_value());
    CHECK(columns->unit_exponent == exponent);
    CHECK(columns->levels == std::vector<std::string>{"clk"});
    CHECK_FALSE(columns->rising_only);
  }
}

TEST_CASE("read_csv_columns: a name that does not say time and unit is none") {
  for (const char* name :
       {"time", "time_S", "time_MS", "time s", "times", "time_min", "delta_s",
        "dt_us", "duration_s", "period_ns", "sample", "index", "clk_s", "_s",
        "time_", "time ()", "date"}) {
    CAPTURE(std::string(name));
    CHECK_FALSE(read_csv_columns(std::string(name) + ",clk", ',').has_value());
  }
}

TEST_CASE("read_csv_columns: a lone column must say that its edges rise") {
  for (const char* name : {"rising_s", "rising_edge_ns", "Rising edges [us]"}) {
    CAPTURE(std::string(name));
    const auto columns = read_csv_columns(name, ',');
    REQUIRE(columns.has_value());
    CHECK(columns->rising_only);
    CHECK(columns->cells() == 1);
  }
  for (const char* name : {"time_s", "edge_s", "edges_us", "falling_s"}) {
    CAPTURE(std::string(name));
    CHECK_FALSE(read_csv_columns(name, ',').has_value());
  }
  CHECK_FALSE(read_csv_columns("rising_s,clk", ',').has_value());
}

TEST_CASE("read_csv_columns: quotes protect separators, and double inside") {
  const auto columns =
      read_csv_columns("\"time_s\" , \"a,b\" ,\"say \"\"c\"\"\",d", ',');
  REQUIRE(columns.has_value());
  CHECK(columns->levels == std::vector<std::string>{"a,b", "say \"c\"", "d"});
  CHECK(columns->cells() == 4);
}

TEST_CASE("read_csv_columns: a separator at the end is no column") {
  const auto columns = read_csv_columns("time_s;clk;", ';');
  REQUIRE(columns.has_value());
  CHECK(columns->levels == std::vector<std::string>{"clk"});
  CHECK(columns->trailing_separator);
  CHECK_FALSE(read_csv_columns("time_s;clk", ';')->trailing_separator);
}
