// SPDX-License-Identifier: GPL-3.0-or-later
#include <doctest/doctest.h>

#include <sstream>

#include "clockassay/analysis/assay_series.h"
#include "clockassay/report/report.h"
#include "report/display_width.h"
#include "unit/report/golden.h"

using namespace clockassay;
using namespace clockassay::testing;

namespace {

constexpr double kNominal = 32768.0;

// A fork up and down, an hour between temperatures, with a little noise that is
// the same every time, one reading off and one row without a clock.
MeasuredSeries fork_series() {
  MeasuredSeries series;
  series.path = "fork.csv";
  series.channel = "clk";
  const double noise[] = {0.3, -0.8, 0.5, 0.1, -0.4, 0.9, -0.2, -0.6, 0.4};
  for (int i = 0; i < 20; ++i) {
    const double t = -20.0 + 10.0 * (i < 10 ? i : 19 - i);
    TemperaturePoint p;
    p.place.temperature_c = t;
    p.place.u_temperature_c = 0.05;
    p.place.line = i + 2;
    p.place.sweep = i < 10 ? Sweep::kUp : Sweep::kDown;
    p.place.source = "t" + std::to_string(i) + ".csv";
    const double ppm = -0.035 * (t - 25.0) * (t - 25.0) - 4.0 +
                       0.05 * noise[i % 9] + (i == 13 ? 3.0 : 0.0);
    p.frequency = Hertz(kNominal * (1.0 + ppm * 1e-6));
    p.u = Ppm(0.05);
    p.timebase = {TimebaseKind::kStated, Ppm(0.0), Ppm(2.0)};
    p.half_width = Ppm(2.0);
    series.points.push_back(p);
  }
  PointPlace cold;
  cold.temperature_c = -30.0;
  cold.source = "cold.csv";
  cold.line = 22;
  series.silent.push_back({cold, true, "\"clk\" is constant", 0.2});
  return series;
}

Record drift_record() {
  Record record;
  record.tool_version = "0.0";
  record.command = "drift";
  DriftQuestion question;
  question.expect = *parse_clock_path("32.768kHz");
  question.tolerance = ToleranceBand{Rational(-100), Rational(20)};
  question.range = Span{-20.0, 70.0};
  question.stability = Ppm(0.1);
  question.thermometer_k = 0.25;
  std::vector<Error> errors;
  record.drifts = assay_series(fork_series(), question, errors);
  REQUIRE(errors.empty());
  record.timebase = record.drifts.front().shared.timebase;
  const auto verdict = judge_drift(record.drifts.front());
  REQUIRE(verdict);
  record.verdicts.push_back(*verdict);
  return record;
}

}  // namespace

TEST_CASE("text_report, json_report: a drift is as reviewed") {
  const auto text = text_report(drift_record(), {});
  REQUIRE(text);
  check_golden("drift.txt", *text);
  std::istringstream lines(*text);
  for (std::string line; std::getline(lines, line);) {
    INFO("line: " << line);
    CHECK(display_width(line) <= 80);
  }
  const auto json = json_report(drift_record());
  REQUIRE(json);
  check_golden("drift.json", *json);
}
