// SPDX-License-Identifier: GPL-3.0-or-later
#include "edges/interval_scan.h"

#include <doctest/doctest.h>

#include <algorithm>
#include <array>
#include <cmath>
#include <numeric>
#include <random>
#include <vector>

#include "base/simd_level.h"
#include "clockassay/edges/sampling_window.h"
#include "support/simd_levels.h"
#include "support/test_channel.h"

using namespace clockassay;

namespace {

IntervalScan scan_of(const std::vector<std::int64_t>& changes,
                     const IntervalQuestion& question) {
  const TestChannel channel =
      channel_from_changes(changes, 0, changes.back() + 1);
  return scan_intervals({&channel.record, 1}, question, serial_for);
}

ChangeScan changes_of(const std::vector<std::int64_t>& changes,
                      const IntervalQuestion& question) {
  const TestChannel channel =
      channel_from_changes(changes, 0, changes.back() + 1);
  return scan_changes(
      {&channel.record, 1}, question, [](const ChangeScan&) { return false; },
      serial_for);
}

/// Edges of a clock as samples `sample` ticks apart show them.
std::vector<std::int64_t> sampled(double period, double duty, double jitter,
                                  std::int64_t sample, int cycles,
                                  std::mt19937_64& random) {
  std::normal_distribution<double> normal(0.0, 1.0);
  std::vector<std::int64_t> changes;
  for (int k = 0; k < cycles; ++k) {
    for (const double t : {k * period, (k + duty) * period}) {
      const double noisy = t + (jitter > 0.0 ? jitter * normal(random) : 0.0);
      const auto n = static_cast<std::int64_t>(
          std::ceil(noisy / static_cast<double>(sample)));
      const std::int64_t at = (1000 + n) * sample;
      if (changes.empty() || at > changes.back()) changes.push_back(at);
    }
  }
  return changes;
}

}  // namespace

TEST_CASE("scan_intervals: what seven edges have in common") {
  // 50 70 40 70 50 70 on 10: gcd 10, shortest 40, and 5, 7, 4, 7, 5, 7 samples.
  const std::vector<std::int64_t> edges{100, 150, 220, 260, 330, 380, 450};
  const IntervalScan scan = scan_of(edges, {10.0, 1, true});
  CHECK(scan.count == 6);
  CHECK(scan.gcd == 10);
  CHECK(scan.shortest == 40);
  CHECK(scan.samples_gcd == 1);
  CHECK(scan.first == 100);
  CHECK(scan.last == 450);
  CHECK(scan.grid_error == 0.0);
  // The high times differ by a sample, there and back; the low times do not.
  const ChangeScan changes = changes_of(edges, {10.0, 1, true});
  CHECK(changes.changes == 1);
  CHECK(changes.least_change == 10);
}

TEST_CASE("scan_intervals: a count beyond 2^53 samples has no divisor") {
  // High for 2^63 - 6 ticks, as a double 2^63, which is no std::int64_t; low
  // for 2, which alone is a divisor.
  constexpr std::int64_t kHigh = 9'223'372'036'854'775'802;
  const IntervalScan scan = scan_of({1, 1 + kHigh, 3 + kHigh}, {1.0, 1, true});
  CHECK(scan.samples_gcd == 1);
  CHECK(scan.gcd == 2);
}

TEST_CASE("scan_intervals: rounded stamps still show their samples") {
  // 25/3 ticks a sample: 5, 6, 5, 6 of them are 42, 50, 41, 50 rounded.
  const std::vector<std::int64_t> edges{100, 142, 192, 233, 283};
  CHECK(scan_of(edges, {25.0 / 3.0, 1, false}).samples_gcd == 1);
  // 42 and 41 are the same high time.
  CHECK(changes_of(edges, {25.0 / 3.0, 1, false}).changes == 0);
}

TEST_CASE(
    "scan_intervals: below four samples a period the period still steps") {
  // 2.7 samples a period of 100 ticks, stated as 10 ticks: high and low times
  // are 100 or 200, which alone may be lost pulses; periods are 200 or 300.
  std::mt19937_64 random(1);
  const auto changes = sampled(270.0, 0.5, 0.0, 100, 200, random);
  const IntervalScan scan = scan_of(changes, {10.0, 1, true});
  CHECK(scan.samples_gcd == 10);
  CHECK(changes_of(changes, {10.0, 1, true}).changes > 50);
}

TEST_CASE("scan_intervals: by vectors or one by one, all lengths are met") {
  // Steps of 1, 7 or 1000 ticks, of which there are few or many, so that blocks
  // are of one byte, two or four; one tick off a step now and then.
  constexpr unsigned kSeed = 19;
  CAPTURE(kSeed);
  std::mt19937_64 random(kSeed);
  const SimdLevel best = simd_level();
  for (int trial = 0; trial < 400; ++trial) {
    CAPTURE(trial);
    const std::int64_t step = std::array{1, 7, 1000}[random() % 3];
    const auto lengths = static_cast<std::int64_t>(
        std::array{1, 2, 10, 60, 64, 65, 100}[random() % 7]);
    const bool off = random() % 4 == 0;
    std::vector<std::int64_t> edges{5};
    IntervalScan expected;
    const auto edge_count = 3 + random() % 5000;
    for (std::uint64_t i = 0; i < edge_count; ++i) {
      const auto draw = static_cast<std::int64_t>(random() % 1000000);
      std::int64_t length = step * (500 + draw % lengths);
      if (off && draw % 997 == 0) ++length;
      edges.push_back(edges.back() + length);
      expected.gcd = std::gcd(expected.gcd, length);
      expected.shortest = std::min(expected.shortest, length);
      expected.lengths.insert(length);
      expected.grid_error =
          std::max(expected.grid_error,
                   std::abs(static_cast<double>(length) -
                            static_cast<double>(step) *
                                std::round(static_cast<double>(length) /
                                           static_cast<double>(step))));
    }
    const IntervalQuestion question{static_cast<double>(step), 1, true};
    for (const SimdLevel simd : test::simd_levels()) {
      limit_simd_level(simd);
      const IntervalScan scan = scan_of(edges, question);
      limit_simd_level(best);
      CHECK(scan.gcd == expected.gcd);
      CHECK(scan.shortest == expected.shortest);
      CHECK(scan.grid_error == expected.grid_error);
      // Some of them, if many.
      CHECK(std::includes(expected.lengths.begin(), expected.lengths.end(),
                          scan.lengths.begin(), scan.lengths.end()));
      if (expected.lengths.size() <= 60) {
        CHECK(scan.lengths == expected.lengths);
      }
    }
  }
}

TEST_CASE("sampling_window: a rate too high shows where a tick is a sample") {
  // The usual file: every decimal is written, and the last is the sample as
  // stated. Truly samples are 3 of them apart.
  std::mt19937_64 random(2);
  TimeGrid grid;
  grid.tick_s = *Rational::make(1, 100'000'000);
  grid.sample_interval_s = grid.tick_s;
  grid.source = SampleIntervalSource::kHeader;
  const auto window = [&grid](const std::vector<std::int64_t>& changes) {
    const TestChannel channel =
        channel_from_changes(changes, 0, changes.back() + 1);
    return sampling_window({&channel.record, 1}, grid, serial_for);
  };
  const auto three = window(sampled(25.3, 0.5, 0.0, 3, 300, random));
  CHECK(three.window_ticks == Rational(3));
  REQUIRE(three.warnings.size() == 1);
  CHECK(three.warnings[0].code == WarningCode::kSamplingFinerThanSeen);
  // With and without jitter, the rate as it is says nothing.
  for (const double jitter : {0.0, 0.3, 3.0}) {
    const auto right = window(sampled(25.3, 0.5, jitter, 1, 300, random));
    CHECK(right.window_ticks == Rational(1));
    CHECK(right.warnings.empty());
  }
  // Locked: 24 ticks a period.
  const auto locked = window(sampled(24.0, 0.5, 0.0, 3, 300, random));
  CHECK(locked.window_ticks == Rational(1));
  REQUIRE(locked.warnings.size() == 1);
  CHECK(locked.warnings[0].code == WarningCode::kSamplingUnconfirmed);
}

TEST_CASE("sampling_window: a rate too high by any factor is seen or said") {
  // Any clock from 2.1 samples a period on, with or without jitter, stated k
  // times too fast: the window holds the true sampling interval, or it is said
  // that it was not confirmed.
  constexpr std::uint64_t kSeed = 41;
  INFO("seed ", kSeed);
  std::mt19937_64 random(kSeed);
  std::uniform_real_distribution<double> uniform(0.0, 1.0);
  int seen = 0;
  for (int trial = 0; trial < 1000; ++trial) {
    CAPTURE(trial);
    const auto k = static_cast<std::int64_t>(2 + random() % 19);
    const std::int64_t sample = 10 * k;  // stated: 10
    const double period =
        static_cast<double>(sample) * (2.1 + 60.0 * uniform(random));
    const double jitter =
        trial % 2 == 0 ? 0.0 : uniform(random) * static_cast<double>(sample);
    const auto changes =
        sampled(period, 0.45 + 0.1 * uniform(random), jitter, sample,
                20 + static_cast<int>(random() % 300), random);
    TimeGrid grid;
    grid.tick_s = *Rational::make(1, 1'000'000'000);
    grid.sample_interval_s = *Rational::make(10, 1'000'000'000);
    grid.source = SampleIntervalSource::kOption;
    const TestChannel channel =
        channel_from_changes(changes, 0, changes.back() + 1);
    const SamplingWindow w =
        sampling_window({&channel.record, 1}, grid, serial_for);
    REQUIRE(w.warnings.size() == 1);
    if (w.warnings[0].code == WarningCode::kSamplingUnconfirmed) continue;
    CHECK(w.warnings[0].code == WarningCode::kSamplingFinerThanSeen);
    CHECK(w.window_ticks.to_double() >= static_cast<double>(sample));
    ++seen;
  }
  // Unseen are those that never step or are torn by jitter of about their
  // high time: few.
  CHECK(seen > 900);
}
