// SPDX-License-Identifier: GPL-3.0-or-later
#include "estimate/phases_open.h"

#include <doctest/doctest.h>

#include <cmath>
#include <random>

#include "support/approx.h"
#include "support/test_stretch.h"

using namespace clockassay;

TEST_CASE("open_by_phases: a part of a sample over the capture") {
  CHECK(open_by_phases(50.0, 1000.0) == testing::approx(1.0 / 1000.0));
  // Two periods take 25 samples: two phases.
  CHECK(open_by_phases(12.5, 1000.0) == testing::approx(1.0 / 2000.0));
  // 3.9 steps in the capture, and 4.1; 2, 3, … periods make only more steps.
  CHECK(open_by_phases(50.0039, 1000.0) == testing::approx(1.0 / 1000.0));
  CHECK(open_by_phases(50.0041, 1000.0) == 0.0);
  // The golden section's multiples stay far from whole numbers: 8 of them are
  // 3.0557, 55 steps in 1000 cycles.
  CHECK(open_by_phases(40.381966, 1000.0) == 0.0);
}

TEST_CASE("periods_alternate: every other edge late, and white jitter") {
  constexpr std::uint64_t kSeed = 76;
  INFO("seed ", kSeed);
  std::mt19937_64 random(kSeed);
  int alarms = 0;
  for (int i = 0; i < 500; ++i) {
    const SampledEdges white = sample_edges(40000.0, 0.43, 1000.0, 100, random);
    const TestStretch s = stretch_from_edges(white.rises, white.falls, 64);
    alarms += periods_alternate(
        sum_edges(EdgeView(s.stretch), serial_for).value().periods);
  }
  // 0.02 are expected.
  CHECK(alarms <= 1);
  std::vector<double> late;
  for (int i = 0; i < 102; ++i) {
    late.insert(late.end(), 2, i % 2 == 0 ? -2000.0 : 2000.0);
  }
  const SampledEdges two =
      sample_edges(40000.0, 0.43, 500.0, 100, random, late);
  const TestStretch s = stretch_from_edges(two.rises, two.falls, 64);
  CHECK(periods_alternate(
      sum_edges(EdgeView(s.stretch), serial_for).value().periods));
}
