// SPDX-License-Identifier: GPL-3.0-or-later
#include "clockassay/edges/sampling_window.h"

#include <doctest/doctest.h>

#include <algorithm>
#include <cmath>
#include <random>
#include <vector>

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
  CHECK(w.interval_reason == "--sample-rate");
  CHECK(w.window_reason == "one sampling interval and one step of the text");
  REQUIRE(w.warnings.size() == 1);
  CHECK(w.warnings[0].code == WarningCode::kTextRounds);
  CHECK_FALSE(warning_info(w.warnings[0].code).forbids_pass);
  // From edge to edge 183 ns: 9.333/183 = 51 000 ppm, 8.333/183 = 45 540 ppm;
  // 1 ns / sqrt(12) = 0.2887 ns.
  CHECK(w.warnings[0].message ==
        "times are written in steps of 1e-09 s, samples are 8.33333e-09 s "
        "apart: an edge is known to within the sum of both only, and over this "
        "capture a frequency may so be off by up to 5.1e+04 ppm instead of "
        "4.55e+04; the steps look like a jitter of 2.88675e-10 s rms on every "
        "edge that is not the clock's; write more digits");
}

TEST_CASE("sampling_window: two samples on one stamp are said and forbidden") {
  // 2 GS/s in nanoseconds: the text is coarser than the samples. Window 0.5 + 1
  // ns; over 100 us 15 and 5 ppm.
  TimeGrid grid = nanoseconds();
  grid.sample_interval_s = *Rational::make(1, 2'000'000'000);
  grid.source = SampleIntervalSource::kHeader;
  const auto w = window_of({0, 42, 83, 99'958, 100'000}, grid);
  CHECK(w.window_ticks == *Rational::make(3, 2));
  REQUIRE(w.warnings.size() == 1);
  CHECK(w.warnings[0].code == WarningCode::kTextCoarse);
  CHECK(warning_info(w.warnings[0].code).forbids_pass);
  CHECK(w.warnings[0].message ==
        "times are written in steps of 1e-09 s, samples are 5e-10 s apart: an "
        "edge is known to within the sum of both only, and over this capture a "
        "frequency may so be off by up to 15 ppm instead of 5; the steps look "
        "like a jitter of 2.88675e-10 s rms on every edge that is not the "
        "clock's; write more digits: edges may have been lost in the writing");
}

TEST_CASE("sampling_window: text that writes every sample is not mentioned") {
  // 24 MS/s in picoseconds: the step is 1/41667 of the samples.
  TimeGrid grid;
  grid.tick_s = *Rational::make(1, 1'000'000'000'000);
  grid.sample_interval_s = *Rational::make(1, 24'000'000);
  grid.source = SampleIntervalSource::kHeader;
  const auto w = window_of({0, 208'333, 458'333, 666'667, 875'000}, grid);
  CHECK(w.window_ticks == *Rational::make(125'003, 3));  // 41666.67 + 1
  CHECK(w.warnings.empty());
}

TEST_CASE("sampling_window: microseconds on a watch crystal are said") {
  // 32.768 kHz: half a period is 15.26 us; nothing states the sampler.
  std::vector<std::int64_t> changes;
  for (int k = 0; k <= 200; ++k)
    changes.push_back(k * 15'258'789LL / 1'000'000);
  TimeGrid grid;
  grid.tick_s = *Rational::make(1, 1'000'000);
  const auto w = window_of(changes, grid);
  // Intervals of 15 and 16 may be equal; the shortest bounds: 15 + 2, and + 1.
  CHECK(w.window_ticks == Rational(18));
  CHECK(w.interval_reason ==
        "not stated, and not the greatest common divisor of 200 intervals, "
        "1e-06 s");
  REQUIRE(w.warnings.size() == 2);
  CHECK(w.warnings[0].code == WarningCode::kSamplingNotVisible);
  CHECK(w.warnings[1].code == WarningCode::kTextRounds);
  // 18 and 17 us of 3051 us; 1 us / sqrt(12).
  CHECK(w.warnings[1].message ==
        "times are written in steps of 1e-06 s, samples are at most 1.7e-05 s "
        "apart: an edge is known to within the sum of both only, and over this "
        "capture a frequency may so be off by up to 5.9e+03 ppm instead of "
        "5.57e+03; the steps look like a jitter of 2.88675e-07 s rms on every "
        "edge that is not the clock's; write more digits");
}

namespace {

/// A clock of `period` and `duty` ticks, steady, seen every `sample` ticks.
std::vector<std::int64_t> steady(double period, double high, double sample,
                                 int cycles) {
  std::vector<std::int64_t> changes;
  for (int k = 0; k < cycles; ++k) {
    for (const double t : {k * period, k * period + high}) {
      changes.push_back(std::llround(std::ceil(t / sample - 1e-9) * sample));
    }
  }
  return changes;
}

TimeGrid stated(std::int64_t ticks) {
  TimeGrid grid = nanoseconds();
  grid.sample_interval_s = *Rational::make(ticks, 1'000'000'000);
  grid.source = SampleIntervalSource::kHeader;
  return grid;
}

}  // namespace

TEST_CASE("sampling_window: a rate stated ten times too high is not believed") {
  // Samples every 100 ns, stated 10 ns; a period of 12.345 samples, so that a
  // cycle in three is a sample longer.
  const auto w = window_of(steady(1234.5, 500, 100, 300), stated(10));
  CHECK(w.window_ticks == Rational(100));
  CHECK(w.sample_interval_s == *Rational::make(1, 10'000'000));
  REQUIRE(w.warnings.size() == 1);
  CHECK(w.warnings[0].code == WarningCode::kSamplingFinerThanSeen);
  // Whoever is right, the figures hold: the window is the longer of the two.
  CHECK_FALSE(warning_info(w.warnings[0].code).forbids_pass);
  // 500 is whole samples, so that no high time changes and a third of the low
  // times do, there and back: frac(12.345) = 0.345 of 299, 103 times two, but
  // for the first.
  // The edges span 299 periods and a high time, 369 615, on samples 369 700:
  // 100 and 10 ns of it are 270.5 and 27.05 ppm.
  CHECK(w.warnings[0].message ==
        "the stated sampling interval of 1e-08 s is finer than what is seen: "
        "all 599 intervals between edges are multiples of 10 of them, and so "
        "are 205 changes of length from one to the next that were looked at, "
        "which is no chance; "
        "samples 1e-07 s apart are reckoned with, and over this capture a "
        "frequency may so be off by up to 270 ppm instead of 27; check the "
        "stated sample rate");
  CHECK(w.interval_reason ==
        "stated in the file; 1e-08 s were stated, 1e-07 s are seen");
}

TEST_CASE("sampling_window: extra pulses are no steps of the sampling") {
  // A sample a nanosecond, which is the step of the text, too: single samples
  // cannot be told from rounding. Pulses of four samples, some samples before
  // and after an edge, make high and low times shorter by four to eight.
  std::vector<std::int64_t> changes = steady(133.34, 66.7, 1, 300);
  for (int i = 1; i < 20; ++i) {
    const std::int64_t rise = changes[static_cast<std::size_t>(20 * i)];
    const std::int64_t fall = changes[static_cast<std::size_t>(20 * i + 1)];
    const std::int64_t from = i % 3 == 0   ? rise - 8
                              : i % 3 == 1 ? rise + 4
                                           : fall - 8;
    changes.insert(changes.end(), {from, from + 4});
  }
  std::sort(changes.begin(), changes.end());
  const auto w = window_of(changes, stated(1));
  CHECK(w.window_ticks == Rational(1));
  CHECK(w.warnings.empty());
  // Lost ones are none either.
  changes = steady(133.34, 66.7, 1, 300);
  for (int i = 12; i > 0; --i) {
    const auto at = changes.begin() + 40 * i;
    changes.erase(at, at + 2);
  }
  CHECK(window_of(changes, stated(1)).warnings.empty());
}

TEST_CASE("sampling_window: nearly locked, one step shows the samples") {
  // 40 samples a period but for 50 ppm: in 1000 cycles the edges move by two
  // samples, so that few intervals differ, and those by 100 ns.
  const auto w = window_of(steady(4000.2, 2000.1, 100, 1000), stated(20));
  CHECK(w.window_ticks == Rational(100));
  REQUIRE(w.warnings.size() == 1);
  CHECK(w.warnings[0].code == WarningCode::kSamplingFinerThanSeen);
  const auto right = window_of(steady(4000.2, 2000.1, 100, 1000), stated(100));
  CHECK(right.window_ticks == Rational(100));
  CHECK(right.warnings.empty());
}

TEST_CASE("sampling_window: a clock locked to the samples tells nothing") {
  // 10 MHz by 100 MS/s, or by 20 MS/s as far as the edges show.
  const auto w = window_of(steady(100, 50, 10, 500), stated(10));
  CHECK(w.window_ticks == Rational(10));
  REQUIRE(w.warnings.size() == 1);
  CHECK(w.warnings[0].code == WarningCode::kSamplingUnconfirmed);
  CHECK_FALSE(warning_info(w.warnings[0].code).forbids_pass);
  // The edges span 49 950 ns: 50 of it are 1001 ppm, 10 are 200.2.
  CHECK(w.warnings[0].message ==
        "the stated sampling interval of 1e-08 s is believed, not seen: all "
        "intervals between edges are multiples of 5 of them, as they are for a "
        "clock locked to the sampler and for samples 5e-08 s apart; were it "
        "the latter, a frequency might over this capture be off by up to 1e+03 "
        "ppm instead of 200");
  CHECK(w.interval_reason ==
        "stated in the file; not confirmed: all intervals are multiples of 5");
}

TEST_CASE("sampling_window: data and damage on the samples are no steps") {
  // A locked clock that loses a pulse twice: gaps of 10 samples are not a
  // sampler that sees every fifth.
  auto changes = steady(100, 50, 10, 500);
  changes.erase(changes.begin() + 400, changes.begin() + 402);
  changes.erase(changes.begin() + 200, changes.begin() + 202);
  CHECK(window_of(changes, stated(10)).window_ticks == Rational(10));
  // Random bits of 8 samples.
  constexpr std::uint64_t kSeed = 5;
  INFO("seed ", kSeed);
  std::mt19937_64 random(kSeed);
  std::vector<std::int64_t> data;
  std::int64_t t = 0;
  for (int i = 0; i < 2000; ++i) {
    do {
      t += 80;
    } while (random() % 2 == 0);
    data.push_back(t);
  }
  const auto w = window_of(data, stated(10));
  CHECK(w.window_ticks == Rational(10));
  REQUIRE(w.warnings.size() == 1);
  CHECK(w.warnings[0].code == WarningCode::kSamplingUnconfirmed);
}

TEST_CASE("sampling_window: another regime is no step of the sampler") {
  // From an RC oscillator to a crystal to a PLL, each locked to the samples:
  // intervals change by many of them, twice, and for good.
  const auto reset = [](std::int64_t rc, std::int64_t crystal,
                        std::int64_t pll) {
    std::vector<std::int64_t> changes = {0};
    for (const std::int64_t half : {rc, crystal, pll}) {
      for (int i = 0; i < 200; ++i) changes.push_back(changes.back() + half);
    }
    return changes;
  };
  const auto w = window_of(reset(63, 45, 31), stated(1));
  CHECK(w.window_ticks == Rational(1));
  CHECK(w.warnings.empty());
  // All of them even: that may be chance, or every second sample.
  const auto even = window_of(reset(64, 46, 32), stated(1));
  CHECK(even.window_ticks == Rational(1));
  REQUIRE(even.warnings.size() == 1);
  CHECK(even.warnings[0].code == WarningCode::kSamplingUnconfirmed);
}

TEST_CASE("sampling_window: a wrong rate shows through coarse text as well") {
  // Samples every 20.3 ns, stated 2 ns, written in steps of 1 ns: too coarse
  // to undo the rounding, but no interval ever differs by about 2 ns.
  const auto w = window_of(steady(333.3, 140, 20.3, 300), stated(2));
  CHECK(w.window_ticks.to_double() >= 20.3 + 1.0);
  CHECK(w.window_ticks.to_double() <= 20.3 + 4.0);  // two roundings more
  REQUIRE(w.warnings.size() == 2);
  CHECK(w.warnings[0].code == WarningCode::kSamplingFinerThanSeen);
  CHECK(w.warnings[1].code == WarningCode::kTextRounds);
}

TEST_CASE(
    "sampling_window: a wrong rate shows after a long time of one phase") {
  // Samples every 5.5 ns, stated 1 ns: for 140 000 cycles the clock keeps to 9
  // samples, and rounding alone changes lengths; then it leaves them.
  std::vector<std::int64_t> changes;
  double sample = 0.0;
  const auto add = [&](double period, int cycles) {
    for (int c = 0; c < cycles; ++c) {
      for (const double half : {5.0, period - 5.0}) {
        changes.push_back(std::lround(5.5 * std::ceil(sample)));
        sample += half;
      }
    }
  };
  add(9.0, 140'000);
  add(9.137, 10'000);
  const auto w = window_of(changes, stated(1));
  CHECK(w.window_ticks.to_double() >= 5.5 + 1.0);
  REQUIRE_FALSE(w.warnings.empty());
  CHECK(w.warnings[0].code == WarningCode::kSamplingFinerThanSeen);
}

TEST_CASE("sampling_window: cut and rounded decimals both keep to the window") {
  // Sample at s sees an edge in (s - T, s]. Rounded, the stamp is in
  // [s - q/2, s + q/2], cut off in (s - q, s]: stamp minus edge spans less than
  // T + q either way, and where it begins is the same for all edges.
  constexpr std::uint64_t kSeed = 31;
  INFO("seed ", kSeed);
  std::mt19937_64 random(kSeed);
  std::uniform_real_distribution<double> uniform(0.0, 1.0);
  for (int trial = 0; trial < 400; ++trial) {
    CAPTURE(trial);
    // Whole ticks of a thousandth of the text step, so that all is exact.
    const std::int64_t q = 1000;
    const auto sample =
        static_cast<std::int64_t>(300 + 20'000 * uniform(random));
    const double period = (8.0 + 40.0 * uniform(random)) *
                          static_cast<double>(std::max(sample, q));
    for (const bool cut : {false, true}) {
      std::vector<std::int64_t> changes;
      double low = 1e300, high = -1e300;
      for (int k = 0; k < 400; ++k) {
        const double edge = k * period / 2;
        const auto n = static_cast<std::int64_t>(
            std::ceil(edge / static_cast<double>(sample)));
        const std::int64_t s = n * sample;
        const std::int64_t stamp = (cut ? s : s + q / 2) / q;
        changes.push_back(stamp);
        const double off = static_cast<double>(stamp * q) - edge;
        low = std::min(low, off);
        high = std::max(high, off);
      }
      TimeGrid grid = nanoseconds();
      grid.sample_interval_s = *Rational::make(sample, q * 1'000'000'000);
      grid.source = SampleIntervalSource::kHeader;
      const auto w = window_of(changes, grid);
      CHECK(high - low < w.window_ticks.to_double() * static_cast<double>(q));
    }
  }
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
        "intervals between edges are off its multiples by up to 1.83333e-08 s; "
        "state the true rate with --sample-rate");
  CHECK(w.interval_reason == "--sample-rate; contradicted by the edges");
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
  CHECK(w.interval_reason == "greatest common divisor of 4 intervals");
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
  REQUIRE(w.warnings.size() == 2);
  CHECK(w.warnings[0].code == WarningCode::kSamplingNotVisible);
  CHECK(w.warnings[1].code == WarningCode::kTextRounds);
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

TEST_CASE(
    "sampling_window: interpolated edges are known to a step of the rows") {
  // Samples 1000 ticks apart, once 1400; times written in steps of 10 ticks.
  const std::vector<std::int64_t> changes = {1003, 5017, 9002, 13'029};
  TestChannel voltage = channel_from_changes(changes, 0, 14'000);
  voltage.record.interpolated = true;
  voltage.record.longest_step = Ticks(1400);
  TimeGrid grid = nanoseconds();
  grid.text_resolution_ticks = 10;
  SamplingWindow w = sampling_window({&voltage.record, 1}, grid, serial_for);
  CHECK(w.window_ticks == Rational(1410));
  CHECK(w.sample_interval_s == *Rational::make(1400, 1'000'000'000));
  CHECK(w.source == SampleIntervalSource::kRows);
  CHECK(w.interval_reason == "the longest step from one row to the next");
  CHECK(w.window_reason ==
        "the longest step from one sample to the next, between which the edge "
        "is interpolated, and one step of the text");
  CHECK(w.warnings.empty());

  // A rate that is stated is kept, and no edge contradicts it.
  grid.sample_interval_s = *Rational::make(1, 1'000'000);
  grid.source = SampleIntervalSource::kHeader;
  w = sampling_window({&voltage.record, 1}, grid, serial_for);
  CHECK(w.window_ticks == Rational(1410));
  CHECK(w.sample_interval_s == grid.sample_interval_s);
  CHECK(w.source == SampleIntervalSource::kHeader);
  CHECK(w.warnings.empty());

  // Beside a channel of levels on the grid its edges say nothing about that.
  const std::vector<std::int64_t> on_grid = {2000, 5000, 9000, 12'000};
  TestChannel levels = channel_from_changes(on_grid, 0, 14'000);
  std::vector<ChannelRecord> both;
  both.push_back(std::move(levels.record));
  both.push_back(std::move(voltage.record));
  w = sampling_window(both, grid, serial_for);
  CHECK(w.window_ticks == Rational(1000));
}

TEST_CASE("sampling_window: a sum that is no exact number is rounded up") {
  // (n + 1) / n ticks a sample, n = 8 * 10^37. With a step of the text it is
  // (2 n + 1) / n, whose numerator is above 2^126 = 8.5 * 10^37.
  Int128 n = 8;
  for (int i = 0; i < 37; ++i) n *= 10;
  TimeGrid grid;
  grid.sample_interval_s = Rational::make(n + 1, n);
  REQUIRE(grid.sample_interval_s);
  grid.source = SampleIntervalSource::kOption;
  const auto w = window_of({0, 50, 101, 151, 202}, grid);
  CHECK(w.window_ticks == Rational(3));  // 2 and 1 whole ticks
}

TEST_CASE("sampling_window: an importer's words for its source are kept") {
  TimeGrid grid = nanoseconds();
  grid.sample_interval_s = *Rational::make(1, 100'000'000);
  grid.source = SampleIntervalSource::kHeader;
  grid.source_reason = "stated in line 3";
  CHECK(window_of({0, 50, 120, 160, 230}, grid).interval_reason ==
        "stated in line 3");
}
