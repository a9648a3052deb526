// SPDX-License-Identifier: GPL-3.0-or-later
#include "clockassay/estimate/sampling_phase.h"

#include <doctest/doctest.h>

#include <cmath>
#include <random>
#include <set>

#include "support/approx.h"

using namespace clockassay;

TEST_CASE("find_few_phases: 12 MHz at 100 MS/s meets three phases") {
  // P = 25/3 samples, 1.2e5 cycles in 10 ms; 12 MHz + 0.1 ppm moves q P by
  // 25e-7, in all 0.3 of a step, and |3 * 100e6 - 25 * 12e6 (1 + 1e-7)| = 30.
  const double period = 100e6 / (12e6 * (1.0 + 1e-7));
  const auto few = find_few_phases(period, 120'000.0, Seconds(0.01));
  REQUIRE(few);
  CHECK(few->samples == 25);
  CHECK(few->periods == 3);
  CHECK(few->steps == testing::approx(0.3).epsilon(1e-3));
  CHECK(few->beat.value() == testing::approx(30.0).epsilon(1e-3));
  // A third of 10 ns in 10 ms.
  CHECK(few->resolution.value() == testing::approx(1.0 / 3.0).epsilon(1e-6));
  // 7.381966 samples, the golden number below 8.33.
  CHECK(few->better_rate.value() == testing::approx(12e6 * 7.381966));
}

TEST_CASE("find_few_phases: 1 ppm off, the same clock meets every phase") {
  const double period = 100e6 / (12e6 * (1.0 + 1e-6));
  CHECK_FALSE(find_few_phases(period, 120'000.0, Seconds(0.01)));
}

TEST_CASE("find_few_phases: a period of golden samples is never found") {
  for (const double cycles : {100.0, 1e4, 1e6}) {
    CHECK_FALSE(find_few_phases(8.381966, cycles, Seconds(1.0)));
  }
}

TEST_CASE("find_few_phases: what it says is what counting phases shows") {
  // Phases as counted: of 512 bins of a sample, those that an edge fell into.
  // Found: they fill at most steps of each 1/q, and a bin at either end. Not
  // found, and edges enough: no gap of an eighth is left.
  constexpr std::uint64_t kSeed = 17;
  INFO("seed ", kSeed);
  std::mt19937_64 random(kSeed);
  std::uniform_real_distribution<double> uniform(0.0, 1.0);
  constexpr int kBins = 512;
  int found = 0;
  for (int trial = 0; trial < 300; ++trial) {
    CAPTURE(trial);
    const int q = 1 + static_cast<int>(random() % 8);
    const double p = std::floor(q * (4.0 + 30.0 * uniform(random)));
    const double period = p / q + (uniform(random) - 0.5) * 2e-4;
    constexpr int kCycles = 4000;
    const auto few = find_few_phases(period, kCycles, Seconds(1.0));
    std::set<int> bins;
    for (int k = 0; k < kCycles; ++k) {
      const double phase = k * period - std::floor(k * period);
      bins.insert(static_cast<int>(phase * kBins));
    }
    if (few) {
      ++found;
      CHECK(static_cast<double>(bins.size()) <=
            kBins * few->steps + 2.0 * static_cast<double>(few->periods));
    } else {
      int gap = 0;
      int last = *bins.rbegin() - kBins;
      for (const int bin : bins) {
        gap = std::max(gap, bin - last - 1);
        last = bin;
      }
      CHECK(gap <= kBins / 8);
    }
  }
  // |period - p/q| < 1/(4000 q) of 1e-4: between 1 in 1 (q up to 2) and 1 in
  // 3.2 are found; the check has seen both.
  CHECK(found > 60);
  CHECK(found < 290);
}
