// SPDX-License-Identifier: GPL-3.0-or-later
#include "clockassay/report/chart.h"

#include <doctest/doctest.h>

#include <algorithm>
#include <cmath>
#include <limits>
#include <set>
#include <string>

#include "clockassay/report/html_report.h"
#include "report/chart_extent.h"
#include "report/chart_parts.h"
#include "unit/report/sample_records.h"

using namespace clockassay;

namespace {

constexpr double kNothing = std::numeric_limits<double>::quiet_NaN();

/// Of every kind of series, with gaps.
Chart every_kind() {
  Chart chart;
  chart.id = "every-kind";
  chart.title = "<b>#u & \"title\"";
  chart.note = "note </desc>";
  chart.x = {"x / s", AxisScale::kLogarithmic};
  chart.y = {"y", AxisScale::kLogarithmic};
  const std::vector<double> x = {1e-6, 1e-5, 1e-4, 1e-3};
  const std::vector<double> y = {1e-9, kNothing, 0.0, 1e-10};
  const std::vector<double> low = {1e-10, kNothing, 1e-11, 1e-11};
  const std::vector<double> high = {1e-8, 1e-9, 1e-10, 1e-9};
  for (const Drawn drawn : {Drawn::kLine, Drawn::kDashed, Drawn::kSteps,
                            Drawn::kPoints, Drawn::kSquares}) {
    chart.series.push_back({"s", drawn, x, y, {}, {}});
    chart.series.push_back({"s", drawn, x, y, low, high});
  }
  chart.series.push_back({"band", Drawn::kBand, x, {}, low, high});
  chart.levels = {{"level", 1e-9, false}, {"up", 1e-5, true}, {"", 0.0, true}};
  return chart;
}

bool has(const std::string& text, const char* part) {
  return text.find(part) != std::string::npos;
}

}  // namespace

TEST_CASE("unit_for: one to three digits before the point") {
  CHECK(unit_for({2.5e-9, -1e-12}, "s").name == "ns");
  CHECK(unit_for({999e-9}, "s").name == "ns");
  CHECK(unit_for({1e-6}, "s").name == "\u00B5s");
  CHECK(unit_for({12.0, kNothing}, "s").size == 1.0);
  CHECK(unit_for({4.2e4}, "Hz").name == "kHz");
  CHECK(unit_for({}, "s").name == "s");
  CHECK(unit_for({0.0}, "s").name == "s");
  CHECK(unit_for({1e-21}, "s").name == "fs");
}

TEST_CASE("extent_of: all that is drawn, with room, never empty") {
  Chart chart;
  const ChartExtent none = extent_of(chart);
  CHECK(none.x_high > none.x_low);
  CHECK(none.y_high > none.y_low);
  chart.series = {{"", Drawn::kPoints, {2.0}, {5.0}, {}, {}}};
  const ChartExtent one = extent_of(chart);
  CHECK(one.x_low < 2.0);
  CHECK(one.x_high > 2.0);
  chart.levels = {{"limit", 50.0, false}, {"step", -3.0, true}};
  const ChartExtent wide = extent_of(chart);
  CHECK(wide.y_high > 50.0);
  CHECK(wide.x_low < -3.0);
  // Of a logarithmic axis in powers of ten; what has no logarithm is left out.
  const ChartExtent logs = extent_of(every_kind());
  CHECK(logs.x_low < -6.0);
  CHECK(logs.x_low > -6.5);
  CHECK(logs.y_low < -11.0);
  CHECK(logs.y_low > -11.5);
}

TEST_CASE(
    "svg_chart: every kind of series, gaps, and a text that is no order") {
  const auto picture = svg_chart(every_kind());
  REQUIRE(picture);
  CHECK(has(*picture, "<title>&lt;b&gt;#u &amp; \"title\"</title>"));
  CHECK(has(*picture, "<desc>note &lt;/desc&gt;</desc>"));
  CHECK(has(*picture, "role=\"img\""));
  for (const char* none : {",nan", "\"nan", ",inf", "\"inf"}) {
    CHECK_FALSE(has(*picture, none));
  }
  // The same again: nothing of one picture is left for the next.
  CHECK(*svg_chart(every_kind()) == *picture);
}

TEST_CASE("svg_chart: texts of any length are shortened") {
  Chart chart = every_kind();
  chart.title = std::string(100'000, 'W');
  chart.x.label = std::string(5'000, '#');
  chart.series[0].name = std::string(5'000, 'n');
  chart.levels[0].name = std::string(5'000, 'l');
  const auto picture = svg_chart(chart);
  REQUIRE(picture);
  CHECK(has(*picture, "WWW\u2026"));
}

TEST_CASE("svg_chart: a chart without any values is an empty one") {
  Chart chart;
  chart.title = "nothing";
  chart.series = {{"s", Drawn::kLine, {}, {}, {}, {}},
                  {"b", Drawn::kBand, {}, {}, {}, {}}};
  CHECK(svg_chart(chart));
  chart.y = {"", AxisScale::kRows, {"one", std::string(300, 'x')}};
  CHECK(svg_chart(chart));
}

TEST_CASE("charts_of: error against limits from the figures of the checks") {
  const Record record = testing::passing_record();
  const auto charts = charts_of(record);
  REQUIRE(!charts.empty());
  const Chart& limits = charts.front();
  CHECK(limits.id == "limits");
  REQUIRE(limits.series.size() == 3);
  const Check& check = record.verdicts[0].checks[0];
  REQUIRE(check.check == "tolerance");
  const ChartSeries& allowed = limits.series[0];
  CHECK(allowed.low[0] == *check.low);
  CHECK(allowed.high[0] == *check.high);
  const double u = *check.expanded_uncertainty;
  const ChartSeries& accepted = limits.series[1];
  CHECK(accepted.low[0] == *check.low + u);
  CHECK(accepted.high[0] == *check.high - u);
  const ChartSeries& seen = limits.series[2];
  CHECK(seen.x[0] == *check.value);
  CHECK(seen.low[0] == *check.value - u);
  CHECK(seen.high[0] == *check.value + u);
}

TEST_CASE("charts_of: no picture of limits where the clock is far off them") {
  for (const Chart& chart : charts_of(testing::failing_record())) {
    CHECK(chart.id != "limits");
  }
}

TEST_CASE("charts_of: ids differ, however many there are of a kind") {
  Record record = testing::passing_record();
  for (int i = 0; i < 3; ++i) record.verdicts.push_back(record.verdicts[0]);
  std::set<std::string> ids;
  const auto charts = charts_of(record);
  for (const Chart& chart : charts) ids.insert(chart.id);
  CHECK(ids.size() == charts.size());
}

TEST_CASE("html_report: every record has a page, its verdict first") {
  for (const Record& record :
       {testing::passing_record(), testing::failing_record(),
        testing::undecided_record(), testing::measured_record(),
        testing::stability_record(), testing::spectrum_record(),
        testing::explained_record(), testing::wrong_load_record()}) {
    const auto page = html_report(record);
    REQUIRE(page);
    CHECK(page->starts_with("<!doctype html>"));
    CHECK(page->ends_with("</html>\n"));
    if (record.verdicts.empty()) continue;
    CHECK(page->find("class=\"decision ") < page->find("<table"));
  }
}

TEST_CASE("html_report: a number that is none is refused, as in the JSON") {
  Record record = testing::measured_record();
  record.captures[0].duration = Seconds(kNothing);
  const auto page = html_report(record);
  REQUIRE_FALSE(page);
  CHECK(page.error().code == ErrorCode::kInternal);
}
