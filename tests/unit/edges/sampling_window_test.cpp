// SPDX-License-Identifier: GPL-3.0-or-later
#include "clockassay/edges/sampling_window.h"

#include <doctest/doctest.h>

#include <cmath>
#include <random>

#include "support/test_channel.h"

using namespace clockassay;

namespace {

/// The window of a channel that changes at these ticks after tick 1000.
SamplingWindow window_of(std::vector<std::int64_t> changes,
                         const TimeGrid& grid) {
  for (std::int64_t& t : changes) t += 1000;
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

TEST_CASE("sampling_window: text coarser than the samples adds its step") {
  // 10 ns stated, but times were written to 1 us: stamps are multiples of 100
  // ticks of 10 ns, and of the interval, and yet rounded.
  TimeGrid grid;
  grid.tick_s = *Rational::make(1, 100'000'000);
  grid.text_resolution_ticks = 100;
  grid.sample_interval_s = grid.tick_s;
  grid.source = SampleIntervalSource::kHeader;
  const auto w = window_of({0, 50'000, 100'000, 150'000}, grid);
  CHECK(w.window_ticks == Rational(101));
  REQUIRE(w.warnings.size() == 1);
  CHECK(w.warnings[0].code == WarningCode::kTextCoarse);
  CHECK(warning_info(w.warnings[0].code).forbids_pass);
}

TEST_CASE("sampling_window: intervals bound an interval that is not stated") {
  // Lengths 50 70 40 70: the nearest differ by 10; 40 is the shortest. At most
  // 10 and two text steps; a third for the rounding. 10 divides all.
  const auto w = window_of({0, 50, 120, 160, 230}, nanoseconds());
  CHECK(w.source == SampleIntervalSource::kInferred);
  CHECK(w.window_ticks == Rational(13));
  CHECK(w.sample_interval_s == *Rational::make(1, 100'000'000));
  REQUIRE(w.warnings.size() == 1);
  CHECK(w.warnings[0].code == WarningCode::kSamplingInferred);
  CHECK(w.warnings[0].message ==
        "the sampling interval is not stated; by the intervals between edges "
        "it is at most 1.2e-08 s, and that is reckoned with; state the sample "
        "rate for a narrower result");
}

TEST_CASE("sampling_window: an interval that is not visible is bounded still") {
  // 120 MS/s in nanoseconds: 42 50 41 50. 41 and 42 may be rounding; 50 - 42 =
  // 8 is a sample, at most 10 long; truly it is 8.33. No common divisor.
  const auto w = window_of({0, 42, 92, 133, 183}, nanoseconds());
  CHECK(w.source == SampleIntervalSource::kUnknown);
  CHECK_FALSE(w.sample_interval_s.has_value());
  CHECK(w.window_ticks == Rational(11));
  REQUIRE(w.warnings.size() == 1);
  CHECK(w.warnings[0].code == WarningCode::kSamplingNotVisible);
}

TEST_CASE("sampling_window: a chance divisor is not taken for the samples") {
  // Lengths 1000 1016 1000 1032: all are multiples of 8, but only 16 is seen
  // as a difference, so that the samples may be 16 apart, or 16.33.
  const auto w = window_of({0, 1000, 2016, 3016, 4048}, nanoseconds());
  CHECK(w.source == SampleIntervalSource::kUnknown);
  CHECK(w.window_ticks == Rational(16 + 2 + 1));
}

TEST_CASE("sampling_window: never narrower than the truth, stated or not") {
  // Any sampling interval, rounded text, any clock: the window must hold the
  // sampling interval and one text step.
  constexpr std::uint64_t kSeed = 12;
  INFO("seed ", kSeed);
  std::mt19937_64 random(kSeed);
  std::uniform_real_distribution<double> uniform(0.0, 1.0);
  for (int trial = 0; trial < 3000; ++trial) {
    CAPTURE(trial);
    const double interval = 1.0 + 30.0 * uniform(random);  // text steps
    const double period = interval * (4.0 + 60.0 * uniform(random));
    const double high = (0.3 + 0.4 * uniform(random)) * period;
    const auto cycles = 2 + random() % 60;
    std::vector<std::int64_t> changes;
    for (std::size_t k = 0; k < cycles; ++k) {
      for (const double t : {0.0, high}) {
        const double sample =
            std::ceil((t + static_cast<double>(k) * period) / interval);
        changes.push_back(std::llround(sample * interval));
      }
    }
    const auto w = window_of(changes, nanoseconds());
    CHECK(w.window_ticks.to_double() >= interval + 1.0);
  }
}

TEST_CASE("sampling_window: noise of binary fractions is not fine sampling") {
  // 100 ns samples on a tick of 1e-18 s, each stamp off by a few dozen ticks.
  TimeGrid grid;
  grid.tick_s = *Rational::make(1, 1'000'000'000'000'000'000);
  const std::int64_t sample = 100'000'000'000;
  const auto w =
      window_of({0, 5 * sample + 20, 10 * sample - 40, 15 * sample + 60}, grid);
  CHECK(w.source == SampleIntervalSource::kUnknown);
  REQUIRE(w.warnings.size() == 1);
  CHECK(w.warnings[0].code == WarningCode::kSamplingNotVisible);
  CHECK(warning_info(w.warnings[0].code).forbids_pass);
}
