// SPDX-License-Identifier: GPL-3.0-or-later
#include "clockassay/history/trend.h"

#include <doctest/doctest.h>

#include <algorithm>
#include <string>
#include <vector>

#include "support/approx.h"

namespace clockassay {
namespace {

StoredRow row(double day, double ppm, const std::string& board = "7") {
  StoredRow r;
  r.taken_s = 86400.0 * day;
  r.capture = "c" + std::to_string(static_cast<int>(day));
  r.clock = "main";
  r.channel = "clk";
  r.expected = Hertz(12e6);
  r.frequency = Hertz(12e6 * (1.0 + ppm * 1e-6));
  r.error = Ppm(ppm);
  r.expanded = Ppm(1.0);
  r.tags = {{"board", board}, {"build", std::to_string(static_cast<int>(day))}};
  return r;
}

// 0.1 ppm to either side of a level, in turns.
double about(double level, int day) {
  return level + (day % 2 == 0 ? 0.1 : -0.1);
}

}  // namespace

TEST_CASE("make_trends: in order of time, with the step between two builds") {
  std::vector<StoredRow> rows;
  for (int day = 0; day < 20; ++day) {
    rows.push_back(row(day, about(day < 12 ? 2.0 : 5.0, day)));
  }
  std::reverse(rows.begin(), rows.end());
  const auto trends = make_trends(rows, {});
  REQUIRE(trends.size() == 1);
  const Trend& t = trends[0];
  CHECK(t.clock == "main");
  REQUIRE(t.of.size() == 1);
  CHECK(t.of[0].value == "7");
  CHECK_FALSE(t.is_relative);
  REQUIRE(t.points.size() == 20);
  CHECK(t.points.front().label == "0");
  REQUIRE(t.shifts.size() == 1);
  CHECK(t.points[t.shifts[0].first].label == "12");
  // Of the last level: 5 ppm, a moving range of 0.2.
  REQUIRE(t.limits);
  CHECK(t.limits->centre == testing::approx(5.0));
  CHECK(t.limits->high == testing::approx(5.0 + 3.0 * 0.2 / 1.1283791671));
}

TEST_CASE("make_trends: a value beyond the limits of its own level is marked") {
  std::vector<StoredRow> rows;
  for (int day = 0; day < 20; ++day) {
    rows.push_back(row(day, day == 9 ? 9.0 : about(2.0, day)));
  }
  const auto trends = make_trends(rows, {});
  REQUIRE(trends.size() == 1);
  CHECK(trends[0].shifts.empty());
  for (std::size_t i = 0; i < 20; ++i) {
    CHECK(trends[0].points[i].beyond_limits == (i == 9));
  }
}

TEST_CASE("make_trends: boards are told apart, and by what is asked for") {
  const std::vector<StoredRow> rows = {row(0, 1.0, "7"), row(1, 2.0, "8")};
  CHECK(make_trends(rows, {}).size() == 2);
  TrendOptions together;
  together.by = {};
  CHECK(make_trends(rows, together).size() == 1);
  TrendOptions one;
  one.only = {{"board", "8"}};
  const auto eight = make_trends(rows, one);
  REQUIRE(eight.size() == 1);
  CHECK(*eight[0].points[0].ppm == testing::approx(2.0));
  TrendOptions other;
  other.clock = "another";
  CHECK(make_trends(rows, other).empty());
}

TEST_CASE("make_trends: without an expected frequency ppm are of the median") {
  std::vector<StoredRow> rows = {row(0, 1.0), row(1, 3.0), row(2, 5.0)};
  rows[1].error.reset();
  const auto trends = make_trends(rows, {});
  REQUIRE(trends.size() == 1);
  CHECK(trends[0].is_relative);
  CHECK(*trends[0].points[1].ppm == 0.0);
  CHECK(*trends[0].points[2].ppm == testing::approx(2.0).epsilon(1e-4));
}

TEST_CASE("make_trends: a capture without the clock is counted, no value") {
  std::vector<StoredRow> rows = {row(0, 1.0), row(1, 3.0)};
  rows[1].frequency.reset();
  rows[1].error.reset();
  const auto trends = make_trends(rows, {});
  REQUIRE(trends.size() == 1);
  CHECK(trends[0].silent == 1);
  // In its place: the latest is that no clock is there.
  REQUIRE(trends[0].points.size() == 2);
  CHECK_FALSE(trends[0].points[1].ppm);
}

TEST_CASE("make_trends: steps are at the captures they are of") {
  // Captures without the clock stand between the levels.
  std::vector<StoredRow> rows;
  for (int day = 0; day < 24; ++day) {
    rows.push_back(row(day, about(day < 12 ? 2.0 : 5.0, day)));
    if (day >= 10 && day < 14) {
      rows.back().frequency.reset();
      rows.back().error.reset();
    }
  }
  const auto trends = make_trends(rows, {});
  REQUIRE(trends.size() == 1);
  REQUIRE(trends[0].shifts.size() == 1);
  CHECK(trends[0].points[trends[0].shifts[0].first].label == "14");
  CHECK(trends[0].limits->centre == testing::approx(5.0));
}

TEST_CASE("make_trends: a capture that was measured and judged is one value") {
  std::vector<StoredRow> rows = {row(0, 1.0), row(1, 2.0)};
  for (StoredRow& r : rows) r.command = "verify";
  StoredRow again = rows[0];
  again.command = "measure";
  again.clock = "clk";
  again.error.reset();
  rows.push_back(again);
  const auto trends = make_trends(rows, {});
  REQUIRE(trends.size() == 1);
  CHECK(trends[0].points.size() == 2);
  CHECK_FALSE(trends[0].is_relative);
}

TEST_CASE("make_trends: captures of one time are counted") {
  const std::vector<StoredRow> rows = {row(0, 1.0), row(0, 2.0), row(1, 3.0)};
  const auto trends = make_trends(rows, {});
  REQUIRE(trends.size() == 1);
  CHECK(trends[0].same_time == 1);
}

TEST_CASE(
    "identity_text: the same measurement, to the last bit, and no other") {
  const StoredRow one = row(0, 1.0);
  CHECK(identity_text(one) == identity_text(row(0, 1.0)));
  StoredRow other = one;
  other.error = Ppm(1.0 + 1e-15);
  CHECK(identity_text(other) != identity_text(one));
  other = one;
  other.tags.back().value = "1";
  CHECK(identity_text(other) != identity_text(one));
  // Another path or time of the same bytes is no other measurement.
  StoredRow known = one;
  known.content = "5ba93c9d";
  other = known;
  other.capture = "./c0";
  other.taken_s = 5.0;
  CHECK(identity_text(other) == identity_text(known));
  other.content = "5ba93c9e";
  CHECK(identity_text(other) != identity_text(known));
  // Where they are not known, path and time are what there is.
  other = one;
  other.taken_s = 5.0;
  CHECK(identity_text(other) != identity_text(one));
  // No two lists of fields make one text.
  StoredRow a = one;
  StoredRow b = one;
  a.tags = {{"k", "v"}, {"w", ""}};
  b.tags = {{"k", "v1:w"}};
  CHECK(identity_text(a) != identity_text(b));
}

}  // namespace clockassay
