// SPDX-License-Identifier: GPL-3.0-or-later
#include "clockassay/report/chart.h"

#include <doctest/doctest.h>

#include <algorithm>
#include <cmath>
#include <limits>
#include <set>
#include <string>

#include "clockassay/report/html_report.h"
#include "clockassay/report/report.h"
#include "report/chart_colours.h"
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
  for (const Drawn drawn : {Drawn::kLine, Drawn::kDashed, Drawn::kGuess,
                            Drawn::kSteps, Drawn::kPoints, Drawn::kSquares}) {
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

/// With what a run with --report has besides.
Record with_pictures(Record record) {
  for (CaptureResult& capture : record.captures) {
    for (ChannelResult& channel : capture.channels) {
      ChannelPictures p;
      p.errors = {
          {Seconds(0.0), Seconds(1e-3), Seconds(-1e-9), Seconds(2e-9)},
          {Seconds(1e-3), Seconds(2e-3), Seconds(-2e-9), Seconds(1e-9)}};
      if (channel.stability) p.stability = *channel.stability;
      p.spectrum = channel.spectrum;
      p.no_spectrum = channel.no_spectrum;
      channel.pictures = std::move(p);
    }
  }
  return record;
}

const Chart* find_chart(const std::vector<Chart>& charts, const char* id) {
  const auto found = std::find_if(charts.begin(), charts.end(),
                                  [id](const Chart& c) { return c.id == id; });
  return found == charts.end() ? nullptr : &*found;
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
    // Of several verdicts there is a table first.
    const bool is_one = record.verdicts.size() + record.errors.size() == 1;
    CHECK(has(*page, "All that was judged") != is_one);
    if (is_one) CHECK(page->find("class=\"decision ") < page->find("<table"));
  }
}

TEST_CASE("json_report, json_line: a record with pictures says the same") {
  for (const Record& record :
       {testing::measured_record(), testing::stability_record(),
        testing::spectrum_record(), testing::passing_record()}) {
    const Record more = with_pictures(record);
    CHECK(json_report(record).value() == json_report(more).value());
    CHECK(json_line(record).value() == json_line(more).value());
    CHECK(charts_of(more).size() > charts_of(record).size());
    CHECK(html_report(more));
  }
}

TEST_CASE("charts_of: of an unknown U there is no bar, and that is said") {
  Record record = testing::passing_record();
  record.verdicts[0].checks[0].expanded_uncertainty.reset();
  const auto charts = charts_of(record);
  const Chart* limits = find_chart(charts, "limits");
  REQUIRE(limits != nullptr);
  CHECK(std::isnan(limits->series.back().low[0]));
  CHECK(has(limits->note, "not known"));
  CHECK_FALSE(has(charts_of(testing::passing_record())[0].note, "not known"));
  CHECK(svg_chart(*limits));
}

TEST_CASE("charts_of: lines of sampling are told from those of the clock") {
  Record record = with_pictures(testing::spectrum_record());
  auto& pictures = record.captures[0].channels[0].pictures;
  // One band with the image of 7.997 MHz, one with a line of the clock, one
  // with the image that may as well be a line.
  pictures->spectrum->bands = {{Hertz(46.0), 1e-26, 1e-26},
                               {Hertz(1e5), 1e-26, 9e-26},
                               {Hertz(7.897e6), 1e-26, 9e-26},
                               {Hertz(8e6), 1e-26, 9e-26}};
  const auto charts = charts_of(record);
  const Chart* chart = find_chart(charts, "error-spectrum");
  REQUIRE(chart != nullptr);
  REQUIRE(chart->series.size() == 3);
  CHECK(chart->series[1].drawn == Drawn::kPoints);
  CHECK(chart->series[1].x == std::vector<double>{1e5, 7.897e6});
  CHECK(chart->series[2].drawn == Drawn::kSquares);
  CHECK(chart->series[2].x == std::vector<double>{8e6});
  REQUIRE(chart->levels.size() == 3);
  CHECK(chart->levels[1].name == "spur");
  CHECK(chart->levels[2].name == "spur or image");
  // Where the sampling interval is not known, nothing is called either.
  const Chart* other = find_chart(charts, "error-spectrum-2");
  REQUIRE(other != nullptr);
  CHECK(other->levels[1].name == "line");
  CHECK(has(other->note, "nothing here tells apart"));
}

TEST_CASE("html_report: the reason stands where there is nothing to draw") {
  Record record = with_pictures(testing::measured_record());
  CHECK(find_chart(charts_of(record), "allan-deviation") == nullptr);
  const auto page = html_report(record);
  REQUIRE(page);
  CHECK(has(*page, "too few cycles for an Allan deviation"));
}

TEST_CASE("html_report: of a clock without any error there is no picture") {
  Record record = with_pictures(testing::measured_record());
  auto& errors = record.captures[0].channels[0].pictures->errors;
  CHECK(find_chart(charts_of(record), "time-interval-error") != nullptr);
  for (ShownError& e : errors) e.least = e.most = Seconds(0.0);
  // Less than 16 roundings of the 2 ms they last, 7e-18 s.
  errors[1].most = Seconds(1e-18);
  const auto page = html_report(record);
  REQUIRE(page);
  CHECK(has(*page, "every rising edge was seen exactly on the line"));
  // More than that is an error.
  errors[1].most = Seconds(1e-15);
  CHECK(find_chart(charts_of(record), "time-interval-error") != nullptr);
}

TEST_CASE("html_report: a table that leaves rows out says so") {
  Record record = with_pictures(testing::measured_record());
  auto& errors = record.captures[0].channels[0].pictures->errors;
  errors.clear();
  for (int i = 0; i < 1025; ++i) {
    errors.push_back({Seconds(1e-3 * i), Seconds(1e-3 * (i + 1)),
                      Seconds(-1e-9), Seconds(1e-9)});
  }
  CHECK(has(html_report(record).value(),
            "thinned: extremes of 1025 parts in 342 rows"));
  errors.resize(512);
  CHECK_FALSE(has(html_report(record).value(), "thinned"));
}

TEST_CASE("chart colours: what lies on another differs by how light it is") {
  // Relative luminance and contrast, WCAG 2.1.
  const auto part = [](int value) {
    const double v = value / 255.0;
    return v <= 0.03928 ? v / 12.92 : std::pow((v + 0.055) / 1.055, 2.4);
  };
  const auto contrast = [&part](const ChartColour& a, const ChartColour& b) {
    const auto light = [&part](const ChartColour& c) {
      return 0.2126 * part(c.red) + 0.7152 * part(c.green) +
             0.0722 * part(c.blue) + 0.05;
    };
    return std::max(light(a), light(b)) / std::min(light(a), light(b));
  };
  const auto& c = kChartColours;
  CHECK(contrast(c[kFirstPale], c[kSecondPale]) > 1.25);
  for (const ColourAt below : {kPaper, kFirstPale, kSecondPale}) {
    CHECK(contrast(c[kFirst], c[below]) > 3.0);
    CHECK(contrast(c[kSecond], c[below]) > 3.0);
    CHECK(contrast(c[kInk], c[below]) > 4.5);
  }
}

TEST_CASE("draw_chart: of rows there is one for a telephone") {
  const auto charts = charts_of(testing::passing_record());
  const auto narrow = draw_chart(charts[0], {ChartHeading::kElsewhere, true});
  REQUIRE(narrow);
  CHECK(has(*narrow, "viewBox=\"0 0 350 "));
  CHECK(has(*narrow, "tolerance"));
}

TEST_CASE("html_report: a number that is none is refused, as in the JSON") {
  Record record = testing::measured_record();
  record.captures[0].duration = Seconds(kNothing);
  const auto page = html_report(record);
  REQUIRE_FALSE(page);
  CHECK(page.error().code == ErrorCode::kInternal);
}
