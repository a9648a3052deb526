// SPDX-License-Identifier: GPL-3.0-or-later
#include "clockassay/estimate/period_histogram.h"

#include <doctest/doctest.h>

#include <numeric>
#include <random>
#include <vector>

#include "clockassay/edges/numbering.h"
#include "support/approx.h"
#include "support/test_channel.h"
#include "support/test_stretch.h"
#include "support/two_threads.h"

using namespace clockassay;

namespace {

using Counts = std::vector<std::int64_t>;

/// Rising edges with the given periods after one another, from 5 on.
TestStretch stretch_of_periods(const std::vector<std::int64_t>& periods,
                               std::size_t block) {
  std::vector<std::int64_t> rises = {5};
  for (const std::int64_t p : periods) rises.push_back(rises.back() + p);
  std::vector<std::int64_t> falls;
  for (const std::int64_t r : rises) falls.push_back(r + 1);
  return stretch_from_edges(rises, falls, block);
}

std::optional<PeriodHistogram> histogram_of(
    const EdgeView& view, const Rational& step,
    const ParallelFor& parallel_for = serial_for) {
  const EdgeSums sums = sum_edges(view, parallel_for).value();
  return count_periods(view, sums, step, 1.0, parallel_for);
}

PeriodHistogram histogram_of(const std::vector<std::int64_t>& periods,
                             const Rational& step) {
  const TestStretch s = stretch_of_periods(periods, 3);
  const auto h = histogram_of(EdgeView(s.stretch), step);
  REQUIRE(h);
  return *h;
}

}  // namespace

TEST_CASE("count_periods: the eight edges of the worked example") {
  // Periods 101 98 103 96 102 103 96: bins of a tick from 95.5 to 103.5.
  const PeriodHistogram h =
      histogram_of({101, 98, 103, 96, 102, 103, 96}, Rational(1));
  CHECK(h.counts == Counts{2, 0, 1, 0, 0, 1, 1, 2});
  CHECK(h.first.value() == 95.5);
  CHECK(h.bin.value() == 1.0);
}

TEST_CASE("count_periods: a bin is one multiple of the sampling step") {
  // Samples 8 1/3 ticks apart, as a 120 MHz instrument writes nanoseconds:
  // periods of 4 and 5 samples are 33 or 34 and 41 or 42 ticks. No bin between
  // stays empty, none is split.
  const Rational step = Rational::make(25, 3).value();
  const PeriodHistogram h = histogram_of({33, 42, 34, 33, 41, 34}, step);
  CHECK(h.counts == Counts{4, 2});
  CHECK(h.first.value() == testing::approx(3.5 * 25.0 / 3.0));
  CHECK(h.bin.value() == testing::approx(25.0 / 3.0));
  // Halves go up: 37.5 is of the longer, but there are only whole ticks.
  CHECK(histogram_of({37, 38}, step).counts == Counts{1, 1});
  CHECK(histogram_of({5, 15, 14}, Rational(10)).counts == Counts{2, 1});
}

TEST_CASE("count_periods: no more bins than fit, each of as many steps") {
  // 1000 … 1064 ticks, each once: 65 steps of one tick take bins of two, and
  // the last has the odd one.
  std::vector<std::int64_t> periods(65);
  std::iota(periods.begin(), periods.end(), 1000);
  const PeriodHistogram two = histogram_of(periods, Rational(1));
  Counts expected(32, 2);
  expected.push_back(1);
  CHECK(two.counts == expected);
  CHECK(two.bin.value() == 2.0);
  CHECK(two.first.value() == 999.5);
  periods.pop_back();
  CHECK(histogram_of(periods, Rational(1)).counts == Counts(64, 1));
  // One that is far off is counted, and widens the bins: 2^40 steps in 64.
  const PeriodHistogram far =
      histogram_of({10, 10, 10 + (std::int64_t{1} << 40) - 1}, Rational(1));
  CHECK(far.counts.size() == kMostHistogramBins);
  CHECK(far.counts.front() == 2);
  CHECK(far.counts.back() == 1);
}

TEST_CASE("count_periods: none over a lost cycle") {
  // 10 000 cycles of 100, cycle 5000 lost.
  const TestChannel channel = channel_with_lost_cycle(41);
  const EdgeStore store = number_cycles(channel.record, 1.0);
  REQUIRE(store.stretches.size() == 1);
  const auto h = histogram_of(EdgeView(store.stretches.front()), Rational(1));
  REQUIRE(h);
  CHECK(h->counts.size() == 1);
  CHECK(h->first.value() == 99.5);
  CHECK(h->counts.front() == 9997);
}

TEST_CASE("count_periods: by definition, for any blocks and threads") {
  constexpr std::uint64_t kSeed = 9;
  INFO("seed ", kSeed);
  std::mt19937_64 random(kSeed);
  const SampledEdges e = sample_edges(40.382, 0.47, 2.5, 9000, random);
  std::vector<std::int64_t> periods;
  for (std::size_t i = 1; i < e.rises.size(); ++i) {
    periods.push_back(e.rises[i] - e.rises[i - 1]);
  }
  for (const std::size_t block : {2048u, 100u, 7u}) {
    const TestStretch s = stretch_from_edges(e.rises, e.falls, block);
    for (const ParallelFor& parallel_for :
         {ParallelFor(serial_for), ParallelFor(two_threads)}) {
      const auto h =
          histogram_of(EdgeView(s.stretch), Rational(1), parallel_for);
      REQUIRE(h);
      REQUIRE(h->bin.value() == 1.0);
      Counts counts(h->counts.size());
      for (const std::int64_t p : periods) {
        ++counts.at(static_cast<std::size_t>(static_cast<double>(p) -
                                             h->first.value()));
      }
      CHECK(h->counts == counts);
      CHECK(h->counts.front() > 0);
      CHECK(h->counts.back() > 0);
    }
  }
}
