// SPDX-License-Identifier: GPL-3.0-or-later
#include "clockassay/drift/temperature_log.h"

#include <doctest/doctest.h>

#include <cmath>
#include <string>

#include "support/approx.h"

using namespace clockassay;

namespace {

TemperatureLog log_of(const std::string& text) {
  const auto log = read_temperature_log(text);
  REQUIRE_MESSAGE(log, log.error().message);
  return *log;
}

std::string refusal(const std::string& text) {
  const auto log = read_temperature_log(text);
  return log ? "read"
             : std::to_string(log.error().line.value_or(0)) + ": " +
                   log.error().message;
}

}  // namespace

TEST_CASE("read_temperature_log: readings in order of time") {
  const auto log = log_of("time_s,temperature_c\n-1,20\n0.5,21.5\n3,25\n");
  REQUIRE(log.readings.size() == 3);
  CHECK(log.readings[1].time_s == 0.5);
  CHECK(log.readings[1].temperature_c == 21.5);
  CHECK_FALSE(log.u_stated);
  CHECK(log_of("time_s,temperature_c,u_temperature_c\n0,1,0.2\n1,1,0.3\n")
            .u_stated);
  CHECK(refusal("time_s,temperature_c\n0,20\n0,21\n") ==
        "3: column time_s: found \"0\", expected a time after that of the row "
        "before");
  CHECK(refusal("time_s,temperature_c\n0,20\n") ==
        "2: column time_s: found one row, expected two at least");
  CHECK(refusal("time_s,temperature_c\n,20\n1,2\n")
            .starts_with("2: column time_s: found nothing"));
  CHECK(refusal("time,temperature_c\n0,20\n1,21\n")
            .starts_with("1: column 1: found \"time\""));
}

TEST_CASE(
    "temperature_over: mean and spread along straight lines, no farther") {
  const auto log = log_of(
      "time_s,temperature_c,u_temperature_c\n0,20,0.3\n10,30,0.1\n"
      "20,30,0.1\n");
  // A straight way of 10 K: standard deviation 10/sqrt(12).
  const auto ramp = temperature_over(log, 0.0, 10.0);
  REQUIRE(ramp);
  CHECK(ramp->mean_c == testing::approx(25.0));
  CHECK(ramp->spread_c == testing::approx(10.0 / std::sqrt(12.0)));
  CHECK(ramp->u_c == testing::approx(std::hypot(ramp->spread_c, 0.3)));
  CHECK(ramp->first_c == testing::approx(20.0));
  CHECK(ramp->last_c == testing::approx(30.0));
  // Half on the way, half level: mean (27.5 + 30)/2; the mean square about 30
  // is 25/3/2, the square of the mean 1.25^2.
  const auto both = temperature_over(log, 5.0, 15.0);
  REQUIRE(both);
  CHECK(both->mean_c == testing::approx(28.75));
  CHECK(both->spread_c == testing::approx(std::sqrt(25.0 / 6.0 - 1.25 * 1.25)));
  CHECK_FALSE(temperature_over(log, -0.001, 5.0));
  CHECK_FALSE(temperature_over(log, 15.0, 20.001));
  CHECK(temperature_over(log, 0.0, 20.0));
}

TEST_CASE("cut_windows: by the temperature, and by time where it stands") {
  // 48 K in 240 s, then level for as long.
  const auto log = log_of("time_s,temperature_c\n0,20\n240,68\n480,68\n");
  const auto windows = cut_windows(log, 0.0, 480.0);
  REQUIRE(!windows.empty());
  CHECK(windows.front().from_s == 0.0);
  CHECK(windows.back().to_s == 480.0);
  for (std::size_t i = 0; i < windows.size(); ++i) {
    const auto at = temperature_over(log, windows[i].from_s, windows[i].to_s);
    REQUIRE(at);
    // A step is 48 K / 24; the grid of ends is 480 s / 4096, or 0.024 K.
    CHECK(at->last_c - at->first_c <= 2.0 + 0.024);
    CHECK(windows[i].to_s - windows[i].from_s <= 2 * 480.0 / 16.0);
    if (i > 0) CHECK(windows[i].from_s == windows[i - 1].to_s);
  }
  // 24 steps on the way and 8 sixteenths on the level; the last may join.
  CHECK(windows.size() >= 31);
  CHECK(windows.size() <= 33);
}

TEST_CASE("cut_windows: only where log and capture both are") {
  const auto log = log_of("time_s,temperature_c\n10,20\n20,30\n");
  CHECK(cut_windows(log, 0.0, 15.0).front().from_s == 10.0);
  CHECK(cut_windows(log, 0.0, 15.0).back().to_s == 15.0);
  CHECK(cut_windows(log, 0.0, 10.0).empty());
  CHECK(cut_windows(log, 20.0, 30.0).empty());
  CHECK(cut_windows(log, 12.0, 60.0).back().to_s == 20.0);
}

TEST_CASE("cut_windows: a temperature that stands still gives sixteen") {
  const auto log = log_of("time_s,temperature_c\n0,25\n160,25\n");
  CHECK(cut_windows(log, 0.0, 160.0).size() == 16);
}

TEST_CASE("sweeps_of: stated where every window goes clearly one way") {
  const WindowTemperature up{25.0, 1.0 / std::sqrt(12.0), 0.3, 24.5, 25.5};
  const WindowTemperature down{25.0, 1.0 / std::sqrt(12.0), 0.3, 25.5, 24.5};
  const WindowTemperature level{25.0, 0.0, 0.0, 25.0, 25.0};
  CHECK(sweeps_of({up, up, down, down}) ==
        std::vector<Sweep>{Sweep::kUp, Sweep::kUp, Sweep::kDown, Sweep::kDown});
  const std::vector<Sweep> none(4, Sweep::kNotStated);
  CHECK(sweeps_of({up, up, up, down}) == none);
  CHECK(sweeps_of({up, up, up, up}) == none);
  CHECK(sweeps_of({up, up, down, down, level}) ==
        std::vector<Sweep>(5, Sweep::kNotStated));
}

TEST_CASE("log_gaps: where a thermometer said nothing for long") {
  const auto log = read_temperature_log(
      "time_s,temperature_c\n0,20\n1,20\n2,20\n3,20\n14,30\n23,30\n");
  REQUIRE(log);
  // Steps of 1 s mostly: 11 s and 9 s are gaps.
  const auto gaps = log_gaps(*log);
  REQUIRE(gaps.size() == 2);
  CHECK(gaps[0].from_s == 3.0);
  CHECK(gaps[0].to_s == 14.0);
  CHECK(overlap(gaps[0], {2.0, 3.5}));
  CHECK_FALSE(overlap(gaps[0], {14.0, 15.0}));
  // Two readings are as far apart as they are.
  const auto two = read_temperature_log("time_s,temperature_c\n0,20\n99,20\n");
  REQUIRE(two);
  CHECK(log_gaps(*two).empty());
}

TEST_CASE("log_gaps: two readings may be lost, three are a gap") {
  const auto log = read_temperature_log(
      "time_s,temperature_c\n0,20\n1,20\n2,20\n3,20\n4,20\n5,20\n7,20\n"
      "10,30\n14,30\n15.4,30\n");
  REQUIRE(log);
  // Steps of 1 s mostly: 2 s and 3 s are bridged, 4 s are a gap, 1.4 s are
  // neither.
  const auto bridges = log_bridges(*log);
  REQUIRE(bridges.size() == 2);
  CHECK(bridges[0].from_s == 5.0);
  CHECK(bridges[1].to_s == 10.0);
  const auto gaps = log_gaps(*log);
  REQUIRE(gaps.size() == 1);
  CHECK(gaps[0].from_s == 10.0);
}

TEST_CASE("sweeps_of: a window in which it turns belongs to neither way") {
  std::vector<WindowTemperature> windows(9);
  for (std::size_t i = 0; i < 9; ++i) {
    const double up = i < 4 ? 1.0 : -1.0;
    windows[i].first_c = 20.0;
    windows[i].last_c = 20.0 + up;
    windows[i].spread_c = 1.0 / std::sqrt(12.0);
  }
  windows[4].last_c = 20.0;
  const auto sweeps = sweeps_of(windows);
  CHECK(sweeps[3] == Sweep::kUp);
  CHECK(sweeps[4] == Sweep::kNotStated);
  CHECK(sweeps[5] == Sweep::kDown);
  // Two of nine are plateaus.
  windows[0].last_c = 20.0;
  CHECK(sweeps_of(windows)[3] == Sweep::kNotStated);
}
