// SPDX-License-Identifier: GPL-3.0-or-later
#include "report/chart_digits.h"

#include <doctest/doctest.h>

#include <limits>

#include "clockassay/report/html_report.h"
#include "report/chart_extent.h"
#include "report/level_names.h"
#include "report/number_format.h"
#include "unit/report/sample_records.h"

using namespace clockassay;

namespace {

constexpr double kNothing = std::numeric_limits<double>::quiet_NaN();

Chart chart_of(ChartSeries series) {
  Chart chart;
  chart.id = "c";
  chart.title = "c";
  chart.series = {std::move(series)};
  return chart;
}

bool has(const std::string& text, const char* part) {
  return text.find(part) != std::string::npos;
}

std::size_t count_of(const std::string& text, const std::string& part) {
  std::size_t count = 0;
  for (std::size_t at = text.find(part); at != std::string::npos;
       at = text.find(part, at + part.size())) {
    ++count;
  }
  return count;
}

}  // namespace

TEST_CASE("number_to_place: to that place, in powers of ten where it is far") {
  CHECK(number_to_place(-12.3456, -2) == "-12.35");
  CHECK(number_to_place(12345.6, 1) == "12 350");
  CHECK(number_to_place(0.0, -3) == "0.000");
  CHECK(number_to_place(1.2345e-9, -11) == "1.23\u00B710\u207B\u2079");
  CHECK(number_to_place(6.0e7, 6) == "6.0\u00B710\u2077");
  CHECK(number_to_place(-4.56e-12, -13) == "-4.6\u00B710\u207B\u00B9\u00B2");
}

TEST_CASE("places_of_values: two digits of what is left open") {
  // U = 1.4 -> 0.1; U = 0.96 -> 0.01; not known: four digits of the largest,
  // 12.3, so 0.01.
  const ChartSeries s{"s",
                      Drawn::kPoints,
                      {1, 2, 3},
                      {12.3456, 8.1234, 3.3},
                      {10.9456, 7.1634, kNothing},
                      {13.7456, 9.0834, kNothing}};
  CHECK(places_of_values(chart_of(s), s) == std::vector<int>{-1, -2, -2});
  ChartSeries curve{"c", Drawn::kLine, {1, 2}, {123.4567, 5.0}, {}, {}};
  CHECK(places_of_values(chart_of(curve), curve) == std::vector<int>{-1, -1});
  curve.open = {0.031, 28.0};
  CHECK(places_of_values(chart_of(curve), curve) == std::vector<int>{-3, 0});
  // Counts are exact.
  const ChartSeries counts{"n", Drawn::kSteps, {1, 2}, {150'123.0, 7.0}, {},
                           {}};
  CHECK(places_of_values(chart_of(counts), counts) == std::vector<int>{0, 0});
}

TEST_CASE("places_of_x: neighbours stay apart") {
  // 0.1 ns apart: to 0.01 ns; the next gap is 10 ns, where four digits of
  // 1340 reach 1 ns.
  const ChartSeries s{"s",       Drawn::kLine, {1330.0, 1330.1, 1340.1},
                      {1, 2, 3}, {},           {}};
  CHECK(places_of_x(chart_of(s), s) == std::vector<int>{-2, -2, 0});
}

TEST_CASE("extent_of: of values that are all one, from what is left open") {
  Chart chart =
      chart_of({"s", Drawn::kLine, {1, 2}, {12.34, 12.34}, {}, {}, {0.5, 0.5}});
  ChartExtent e = extent_of(chart);
  CHECK(e.y_low == 11.34);
  CHECK(e.y_high == 13.34);
  // Not known: ten steps of the last of four digits.
  chart.series[0].open.clear();
  e = extent_of(chart);
  CHECK(e.y_high - e.y_low > 0.19);
  CHECK(e.y_high - e.y_low < 0.21);
  chart.series[0].y = {0.0, 0.0};
  e = extent_of(chart);
  CHECK(e.y_high > e.y_low);
}

TEST_CASE("name_places: beside the line where the data is not, none meets") {
  // At the right there is data above the level and below it.
  Chart chart =
      chart_of({"s", Drawn::kPoints, {0, 50, 100}, {-10, -10, 10.6}, {}, {}});
  chart.series.push_back({"t", Drawn::kPoints, {100}, {9.4}, {}, {}});
  chart.levels = {
      {"limit", 10.0, false}, {"step", 30.0, true}, {"step", 31.0, true}};
  const PlotWindow window{chart, extent_of(chart), 626.0, 250.0};
  const auto places = name_places(window);
  REQUIRE(places.size() == 3);
  CHECK_FALSE(places[0].is_right);
  CHECK(places[0].x < 10.0);
  // Less than a name apart: one below the other, both above the data.
  CHECK(places[1].y - places[2].y > window.upwards(11.0));
  CHECK(extent_of(chart).y_high - window.upwards(16.0) > 10.6);
}

TEST_CASE("html_report: tables have figures to the place of their U") {
  Record record = testing::passing_record();
  Check& check = record.verdicts[0].checks[0];
  check.value = 1.234567;
  check.expanded_uncertainty = 0.51234;
  const std::string page = html_report(record).value();
  CHECK(has(page, ">1.23</td>"));
  CHECK(has(page, ">0.72</td>"));
  CHECK(has(page, ">1.75</td>"));
  CHECK_FALSE(has(page, "1.2345"));
}

TEST_CASE("html_report: headings of one clock in several captures differ") {
  Record record = testing::passing_record();
  record.captures.push_back(record.captures[0]);
  record.captures[1].path = "other.vcd";
  record.verdicts.push_back(record.verdicts[0]);
  record.verdicts[1].capture = "other.vcd";
  record.summary = BatchSummary{7, 2, 0, 0, 5};
  const std::string page = html_report(record).value();
  CHECK(count_of(page, "> in other.vcd</span></h2>") == 1);
  CHECK(count_of(page, "> in " + record.captures[0].path + "</span></h2>") ==
        1);
  // Those that could not be used count, too.
  record.title.clear();
  CHECK(has(html_report(record).value(),
            (record.captures[0].path + " and 6 others</h1>").c_str()));
  record.summary.reset();
  record.errors.push_back({ErrorCode::kNoInput, "cannot open"});
  record.errors[0].path = "gone.vcd";
  CHECK(has(html_report(record).value(),
            (record.captures[0].path + " and 2 others</h1>").c_str()));
}
