// SPDX-License-Identifier: GPL-3.0-or-later
#include "clockassay/edges/sampling_window.h"

#include <doctest/doctest.h>

#include "support/test_channel.h"

using namespace clockassay;

namespace {

SamplingWindow window_of(const std::vector<std::int64_t>& changes,
                         const TimeGrid& grid) {
  const TestChannel channel =
      channel_from_changes(changes, 0, changes.back() + 1);
  return sampling_window({&channel.record, 1}, grid, serial_for);
}

TimeGrid nanoseconds() {
  TimeGrid grid;
  grid.tick_s = *Rational::make(1, 1'000'000'000);
  return grid;
}

}  // namespace

TEST_CASE("sampling_window: a stated interval the edges lie on is the window") {
  TimeGrid grid = nanoseconds();
  grid.sample_interval_s = *Rational::make(1, 100'000'000);
  grid.source = SampleIntervalSource::kHeader;
  const auto w = window_of({0, 50, 120, 160, 230}, grid);
  CHECK(w.window_ticks == Rational(10));
  CHECK(w.source == SampleIntervalSource::kHeader);
  CHECK(w.warnings.empty());
}

TEST_CASE("sampling_window: text that rounds the samples adds its step") {
  // 120 MS/s written in nanoseconds: samples 0, 5, 11, 16, 22 of 8.333 ns.
  TimeGrid grid = nanoseconds();
  grid.sample_interval_s = *Rational::make(1, 120'000'000);
  grid.source = SampleIntervalSource::kOption;
  const auto w = window_of({0, 42, 92, 133, 183}, grid);
  CHECK(w.window_ticks == *Rational::make(28, 3));  // 25/3 + 1
  CHECK(w.warnings.empty());
}

TEST_CASE("sampling_window: a stated interval that cannot be is said so") {
  TimeGrid grid = nanoseconds();
  grid.sample_interval_s = *Rational::make(1, 24'000'000);  // 41.67 ns
  grid.source = SampleIntervalSource::kOption;
  const auto w = window_of({0, 50, 110, 160, 220}, grid);
  REQUIRE(w.warnings.size() == 1);
  CHECK(w.warnings[0].code == WarningCode::kSamplingContradicted);
  CHECK(warning_info(w.warnings[0].code).forbids_pass);
  // 110 - 50 = 60 is 18.3 from 41.67; 50 is 8.3, the largest is 60 - 41.67.
  CHECK(w.warnings[0].message ==
        "the stated sampling interval of 4.16667e-08 s does not fit: "
        "intervals between edges are off its multiples by up to 1.83333e-08 s");
}

TEST_CASE("sampling_window: a common divisor bounds an interval not stated") {
  const auto w = window_of({0, 50, 120, 160, 230}, nanoseconds());
  CHECK(w.source == SampleIntervalSource::kInferred);
  CHECK(w.window_ticks == Rational(12));  // 10 and two text steps
  REQUIRE(w.warnings.size() == 1);
  CHECK(w.warnings[0].code == WarningCode::kSamplingInferred);
}

TEST_CASE("sampling_window: an invisible interval is bounded by the shortest") {
  const auto w = window_of({0, 42, 92, 133, 183}, nanoseconds());
  CHECK(w.source == SampleIntervalSource::kUnknown);
  CHECK_FALSE(w.sample_interval_s.has_value());
  CHECK(w.window_ticks == Rational(41));
  REQUIRE(w.warnings.size() == 1);
  CHECK(w.warnings[0].code == WarningCode::kSamplingNotVisible);
  CHECK(warning_info(w.warnings[0].code).forbids_pass);
}
