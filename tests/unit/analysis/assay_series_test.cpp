// SPDX-License-Identifier: GPL-3.0-or-later
#include "clockassay/analysis/assay_series.h"

#include <doctest/doctest.h>

#include <algorithm>
#include <cmath>

#include "support/approx.h"

using namespace clockassay;

namespace {

constexpr double kNominal = 32768.0;

double fork_ppm(double t) {
  return -0.035 * (t - 25.0) * (t - 25.0);
}

TemperaturePoint point_at(double celsius, double ppm) {
  TemperaturePoint p;
  p.place.temperature_c = celsius;
  p.place.u_temperature_c = 0.05;
  p.place.line = static_cast<std::int64_t>(celsius) + 100;
  p.frequency = Hertz(kNominal * (1.0 + ppm * 1e-6));
  p.u = Ppm(0.05);
  p.timebase = {TimebaseKind::kStated, Ppm(0.0), Ppm(2.0)};
  p.half_width = Ppm(2.0);
  return p;
}

MeasuredSeries fork_series() {
  MeasuredSeries series;
  series.path = "fork.csv";
  for (int t = -20; t <= 70; t += 10) {
    series.points.push_back(point_at(t, fork_ppm(t)));
  }
  return series;
}

DriftQuestion question(double low_ppm, double high_ppm, Span range) {
  DriftQuestion q;
  q.expect = *parse_clock_path("32.768kHz");
  q.tolerance = ToleranceBand{Rational(static_cast<std::int64_t>(low_ppm)),
                              Rational(static_cast<std::int64_t>(high_ppm))};
  q.range = range;
  return q;
}

DriftResult only(const MeasuredSeries& series, const DriftQuestion& q) {
  std::vector<Error> errors;
  const auto results = assay_series(series, q, errors);
  CHECK(errors.empty());
  REQUIRE(results.size() == 1);
  return results.front();
}

Decision decision(const MeasuredSeries& series, const DriftQuestion& q) {
  const auto verdict = judge_drift(only(series, q));
  REQUIRE(verdict);
  return verdict->decision;
}

const DriftQuestion kWide = question(-150.0, 50.0, {-20.0, 70.0});

}  // namespace

TEST_CASE("shared_timebase: one shifts all alike, and never moves farther") {
  auto points = fork_series().points;
  SharedTimebase shared = shared_timebase(points, std::nullopt);
  CHECK(shared.is_one);
  CHECK(shared.terms.common.value() == 2.0);
  CHECK(shared.terms.stability.value() == 1.0);
  CHECK_FALSE(shared.stability_stated);
  CHECK(shared_timebase(points, Ppm(0.2)).terms.stability.value() == 0.2);
  for (auto& p : points) {
    p.timebase.tolerance = Ppm(0.1);
    p.half_width = Ppm(0.1);
  }
  CHECK(shared_timebase(points, std::nullopt).terms.stability.value() == 0.1);
  // Another calibration is another timebase: nothing of it cancels.
  points.back().timebase.offset = Ppm(3.0);
  shared = shared_timebase(points, std::nullopt);
  CHECK_FALSE(shared.is_one);
  CHECK(shared.terms.common.value() == 0.0);
  CHECK(shared.terms.stability.value() == testing::approx(0.2));
}

TEST_CASE("assay_series: without an expected frequency 25 degrees is zero") {
  DriftQuestion q;
  const DriftResult result = only(fork_series(), q);
  // The curve is 0 at 25 degrees, where the fork has its nominal frequency.
  CHECK(result.reference.value() == testing::approx(kNominal).epsilon(1e-9));
  CHECK(result.range.low_c == -20.0);
  CHECK(result.range.high_c == 70.0);
  CHECK_FALSE(judge_drift(result));
  // -0.035 * 45^2 at both ends.
  CHECK(result.worst->error.value == testing::approx(-70.875).epsilon(1e-6));
  // The timebase cancels: left are stability and u, less than 5 ppm.
  CHECK(result.worst->error.expanded < 5.0);
}

TEST_CASE("assay_series: the common term is in what is told absolutely") {
  MeasuredSeries series = fork_series();
  for (auto& p : series.points) p.half_width = Ppm(40.0);
  for (auto& p : series.points) p.timebase.tolerance = Ppm(40.0);
  const DriftResult result = only(series, kWide);
  CHECK(result.worst->error.expanded > 38.0);
}

TEST_CASE("assay_series: each board by itself, one without a curve named") {
  MeasuredSeries series = fork_series();
  for (auto& p : series.points) p.place.board = "A";
  TemperaturePoint lone = point_at(71.0, 0.0);
  lone.place.board = "B";
  series.points.push_back(lone);
  std::vector<Error> errors;
  const auto results = assay_series(series, kWide, errors);
  REQUIRE(results.size() == 2);
  CHECK(results[0].assay);
  CHECK_FALSE(results[1].assay);
  REQUIRE(errors.size() == 1);
  CHECK(errors[0].code == ErrorCode::kBadData);
  CHECK(errors[0].path == "fork.csv");
  CHECK(errors[0].message.starts_with("board \"B\": "));
  CHECK(judge_drift(results[0])->decision == Decision::kPass);
  CHECK(judge_drift(results[1])->decision == Decision::kUndecided);
}

TEST_CASE("judge_drift: pass, fail, and what the curve leaves open") {
  CHECK(decision(fork_series(), kWide) == Decision::kPass);
  CHECK(decision(fork_series(), question(-50, 50, {-20.0, 70.0})) ==
        Decision::kFail);
  CHECK(decision(fork_series(), question(-71, 50, {-20.0, 70.0})) ==
        Decision::kUndecided);
  CHECK(decision(fork_series(), question(-900, 900, {-40.0, 70.0})) ==
        Decision::kUndecided);
}

TEST_CASE("judge_drift: what could not be used is no pass") {
  MeasuredSeries series = fork_series();
  series.lost.push_back(point_at(30.0, 0.0).place);
  CHECK(decision(series, kWide) == Decision::kUndecided);
  // But no excuse for what fails without it.
  CHECK(decision(series, question(-50, 50, {-20.0, 70.0})) == Decision::kFail);
}

TEST_CASE("judge_drift: a clock that stands still within the range fails") {
  MeasuredSeries series = fork_series();
  SilentPoint still{point_at(-15.0, 0.0).place, true, "clk is constant"};
  series.silent = {still};
  CHECK(decision(series, kWide) == Decision::kFail);
  series.silent[0].place.temperature_c = -30.0;
  CHECK(decision(series, kWide) == Decision::kPass);
  // Edges that make no clock: it may run.
  series.silent[0] = {point_at(-15.0, 0.0).place, false, "few edges"};
  CHECK(decision(series, kWide) == Decision::kUndecided);
  // Without any point there is no curve, but it stood still all the same.
  MeasuredSeries dead;
  dead.path = "fork.csv";
  dead.silent = {still};
  std::vector<Error> errors;
  const auto results = assay_series(dead, kWide, errors);
  CHECK(errors.size() == 1);
  CHECK(judge_drift(results.front())->decision == Decision::kFail);
}

TEST_CASE("judge_drift: warnings forbid in drift what they forbid elsewhere") {
  MeasuredSeries series = fork_series();
  series.points[3].warnings = {{"undersampled", "few samples", true, false}};
  CHECK(decision(series, kWide) == Decision::kUndecided);
  CHECK(decision(series, question(-50, 50, {-20.0, 70.0})) == Decision::kFail);
  series.points[3].warnings[0].forbids_fail = true;
  CHECK(decision(series, question(-50, 50, {-20.0, 70.0})) ==
        Decision::kUndecided);
}

TEST_CASE("assay_series: no uncertainty and no point left over is an error") {
  MeasuredSeries series;
  series.path = "two.csv";
  for (const double t : {0.0, 50.0}) {
    series.points.push_back(point_at(t, fork_ppm(t)));
    series.points.back().u.reset();
  }
  std::vector<Error> errors;
  CHECK_FALSE(assay_series(series, kWide, errors).front().assay);
  REQUIRE(errors.size() == 1);
  CHECK(errors[0].message.starts_with("no uncertainty is stated"));
}

TEST_CASE(
    "judge_drift: a point beyond a limit is no pass, whatever the curve") {
  MeasuredSeries series;
  series.path = "dip.csv";
  for (int t = -20; t <= 70; t += 5) {
    // An activity dip at 40 degrees; the curves with it and without pass.
    series.points.push_back(point_at(t, fork_ppm(t) - (t == 40 ? 160 : 0)));
  }
  CHECK(decision(series, kWide) == Decision::kUndecided);
  // Within the limits it is one.
  CHECK(decision(series, question(-600, 600, {-20.0, 70.0})) ==
        Decision::kPass);
}

TEST_CASE("assay_series: what rounding hides is in U where nothing is stated") {
  MeasuredSeries series;
  series.path = "counter.csv";
  for (int t = -20; t <= 70; t += 10) {
    // A counter that shows whole hertz: 30.5 ppm of 32.768 kHz.
    series.points.push_back(point_at(t, 0.0));
    series.points.back().u.reset();
    series.points.back().rounding = Ppm(0.5 / kNominal * 1e6);
  }
  CHECK(decision(series, question(-16, 16, {-20.0, 70.0})) ==
        Decision::kUndecided);
  CHECK(only(series, kWide).worst->error.expanded > 15.2);
  // A stated uncertainty far below the step does not undo it; one that may hold
  // it is taken at its word.
  for (auto& p : series.points) p.u = Ppm(0.05);
  CHECK(decision(series, question(-16, 16, {-20.0, 70.0})) ==
        Decision::kUndecided);
  for (auto& p : series.points) p.u = Ppm(15.26 / std::sqrt(3.0));
  CHECK(decision(series, question(-30, 30, {-20.0, 70.0})) == Decision::kPass);
}

TEST_CASE("shared_timebase: a reference has its own stability") {
  auto points = fork_series().points;
  for (auto& p : points) {
    p.timebase = {TimebaseKind::kReference, Ppm(0.0), Ppm(20.0)};
    p.half_width = Ppm(20.0);
  }
  // The instrument's own, however good, is no matter; 1 ppm is assumed.
  const SharedTimebase shared = shared_timebase(points, Ppm(0.05));
  CHECK(shared.is_one);
  CHECK(shared.terms.stability.value() == 1.0);
  CHECK_FALSE(shared.stability_stated);
  for (auto& p : points) p.half_width = Ppm(0.01);
  CHECK(shared_timebase(points, Ppm(0.05)).terms.stability.value() == 0.01);
}

TEST_CASE("judge_drift: a timebase that stored results assume is no pass") {
  MeasuredSeries series = fork_series();
  DriftQuestion q = question(-120, 120, {-20.0, 70.0});
  q.expect.reset();
  for (auto& p : series.points) p.timebase = Timebase{};
  for (auto& p : series.points) p.half_width = Ppm(100.0);
  // Captures measured now are by one instrument.
  CHECK(decision(series, q) == Decision::kPass);
  for (auto& p : series.points) p.is_stored = true;
  CHECK(decision(series, q) == Decision::kUndecided);
  for (auto& p : series.points) p.timebase.kind = TimebaseKind::kStated;
  CHECK(decision(series, q) == Decision::kPass);
}

TEST_CASE("judge_drift: too short to show a clock is no stand-still") {
  MeasuredSeries series = fork_series();
  SilentPoint still{point_at(-15.0, 0.0).place, true, "clk is constant"};
  // Two periods of 32.768 kHz are 61 us.
  still.lasted_s = 60e-6;
  series.silent = {still};
  CHECK(decision(series, kWide) == Decision::kUndecided);
  series.silent[0].lasted_s = 62e-6;
  CHECK(decision(series, kWide) == Decision::kFail);
}

TEST_CASE("judge_drift: one long capture that went one way is no pass") {
  MeasuredSeries series = fork_series();
  series.one_way = true;
  CHECK(decision(series, kWide) == Decision::kUndecided);
  CHECK(decision(series, question(-50, 50, {-20.0, 70.0})) == Decision::kFail);
}

TEST_CASE("assay_series: the thermometer's common error, or that it lacks") {
  MeasuredSeries series = fork_series();
  DriftQuestion q = kWide;
  const auto says = [](const DriftResult& result, const char* what) {
    return std::any_of(
        result.caveats.begin(), result.caveats.end(),
        [what](const std::string& c) { return c.find(what) != c.npos; });
  };
  const DriftResult without = only(series, q);
  CHECK(says(without, "--thermometer"));
  q.thermometer_k = 1.0;
  const DriftResult stated = only(series, q);
  CHECK_FALSE(says(stated, "--thermometer"));
  // 3.15 ppm/K at -20 degrees.
  CHECK(stated.worst->error.error.rectangle_half_width -
            without.worst->error.error.rectangle_half_width ==
        testing::approx(3.15 + 0.035).epsilon(1e-3));
  // Of a log twice its u.
  series.log_u_k = 0.5;
  q.thermometer_k.reset();
  CHECK(only(series, q).worst->error.expanded ==
        testing::approx(stated.worst->error.expanded).epsilon(1e-9));
  // Some rows without a u of their own are told.
  series.points[2].place.u_temperature_c.reset();
  CHECK(says(only(series, q), "Of 1 of 10 temperatures no uncertainty"));
}

TEST_CASE(
    "assay_series: a curve far from the median at 25 degrees is refused") {
  MeasuredSeries series;
  series.path = "two.csv";
  for (const double t : {-20.0, -19.0, 100.0, 101.0, 102.0}) {
    series.points.push_back(point_at(t, t < 0.0 ? 4e6 : 0.0));
  }
  std::vector<Error> errors;
  CHECK_FALSE(assay_series(series, {}, errors).front().assay);
  REQUIRE(errors.size() == 1);
  CHECK(
      errors[0].message.starts_with("the curve at 25 degC, which errors are "
                                    "relative to, is "));
}

TEST_CASE("assay_series: relative to its own curve turnovers are, too") {
  MeasuredSeries series = fork_series();
  for (auto& p : series.points) p.half_width = Ppm(100.0);
  for (auto& p : series.points) p.timebase.tolerance = Ppm(100.0);
  const DriftResult result = only(series, {});
  REQUIRE(result.assay->turnovers.size() == 1);
  // The timebase cancels there: left are the stability and u.
  CHECK(result.assay->turnovers[0].error.expanded < 5.0);
}

TEST_CASE("judge_drift: readings beyond a limit are no scatter") {
  // Two waves of 0.6 ppm about 0 measured to 0.02; three readings are beyond
  // 0.5 by far more than u, though not by what the points scatter.
  MeasuredSeries series;
  series.path = "waves.csv";
  for (int t = -40; t <= 85; t += 5) {
    series.points.push_back(point_at(t, 0.6 * std::sin(t / 9.0)));
    series.points.back().u = Ppm(0.02);
    series.points.back().half_width = Ppm(0.01);
    series.points.back().timebase.tolerance = Ppm(0.01);
  }
  DriftQuestion q = question(-100, 1, {-40.0, 85.0});
  q.tolerance->high_ppm = *Rational::make(1, 2);
  CHECK(decision(series, q) == Decision::kUndecided);
  q.tolerance->high_ppm = Rational(5);
  CHECK(decision(series, q) == Decision::kPass);
}

TEST_CASE(
    "judge_drift: what may be degrees Fahrenheit neither passes nor fails") {
  MeasuredSeries series;
  series.path = "fork.csv";
  for (int t = -40; t <= 80; t += 10) {
    series.points.push_back(point_at(1.8 * t + 32.0, fork_ppm(t)));
  }
  // At 80 degC the part is 106 ppm off; 80 degF is 26.7 degC.
  for (const double low : {-75.0, -1.0}) {
    CAPTURE(low);
    const DriftResult result = only(series, question(low, 50.0, {40.0, 80.0}));
    const auto verdict = judge_drift(result);
    REQUIRE(verdict);
    CHECK(verdict->decision == Decision::kUndecided);
    CHECK(std::any_of(verdict->reasons.begin(), verdict->reasons.end(),
                      [](const std::string& why) {
                        return why.find("Fahrenheit") != std::string::npos;
                      }));
    CHECK(std::count(result.assumed.begin(), result.assumed.end(),
                     "degrees Celsius") == 1);
  }
  // A range in the unit of the series is no question.
  CHECK(decision(series, question(-200.0, 50.0, {-40.0, 176.0})) ==
        Decision::kPass);
}
