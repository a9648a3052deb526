// SPDX-License-Identifier: GPL-3.0-or-later
#include "clockassay/estimate/spectral_check.h"

#include <doctest/doctest.h>

#include <algorithm>
#include <cmath>
#include <cstddef>
#include <numbers>
#include <random>
#include <vector>

#include "support/approx.h"
#include "support/test_stretch.h"

using namespace clockassay;

namespace {

SpectralCheck check(const TestStretch& s, double period, double u = 0.0) {
  return check_spectrum(EdgeView(s.stretch),
                        {s.stretch.rising, period, 1.0, u, 1e-8}, serial_for);
}

/// |difference| in cycles over the capture.
double cycles_off(const SpectralCheck& c, const TestStretch& s, double period) {
  const double span =
      static_cast<double>((s.stretch.last - s.stretch.first).count());
  return std::abs(c.difference->value()) * 1e-6 * span / period;
}

}  // namespace

TEST_CASE("check_spectrum: agrees with every clean clock, short or long") {
  constexpr std::uint64_t kSeed = 77;
  INFO("seed ", kSeed);
  std::mt19937_64 random(kSeed);
  for (double period : {40.381966, 40.0002, 8.38, 4.0002, 3.0003}) {
    for (double sigma : {0.0, 0.1, 0.3}) {
      for (std::size_t cycles : {16u, 40u, 63u, 64u, 200u, 1000u, 20000u}) {
        for (int trial = 0; trial < 5; ++trial) {
          CAPTURE(period);
          CAPTURE(sigma);
          CAPTURE(cycles);
          const SampledEdges e =
              sample_edges(period, 0.5, sigma, cycles, random);
          const TestStretch s = stretch_from_edges(e.rises, e.falls, 2048);
          // The true period, with the standard uncertainty of a least-squares
          // line through these edges.
          const auto n = static_cast<double>(cycles + 1);
          const double u = std::sqrt(12.0 * (1.0 / 12.0 + sigma * sigma) /
                                     (n * (n * n - 1.0)));
          const SpectralCheck c = check(s, period, u);
          CHECK(c.outcome == SpectralOutcome::kAgrees);
        }
      }
    }
  }
}

TEST_CASE("check_spectrum: agrees with clocks that hardly pass the sampler") {
  // All edges lie within one sample of the true line, so that their phases,
  // however the sampler meets them, have a slope below 2.28 samples.
  constexpr std::uint64_t kSeed = 79;
  INFO("seed ", kSeed);
  std::mt19937_64 random(kSeed);
  for (double near : {4.0, 5.0, 8.0, 40.0, 2.5, 7.5}) {
    for (double turns : {-1.5, -1.0, 0.02, 0.5, 0.9, 1.0, 1.17, 1.5, 1.9}) {
      for (std::size_t cycles : {100u, 1000u, 60000u}) {
        for (int trial = 0; trial < 10; ++trial) {
          CAPTURE(near);
          CAPTURE(turns);
          CAPTURE(cycles);
          const double period = near + turns / static_cast<double>(cycles);
          const SampledEdges e = sample_edges(period, 0.5, 0.0, cycles, random);
          const TestStretch s = stretch_from_edges(e.rises, e.falls, 2048);
          CHECK(check(s, period).outcome == SpectralOutcome::kAgrees);
        }
      }
    }
  }
}

TEST_CASE("check_spectrum: sees a lost edge of a clock locked to the sampler") {
  std::mt19937_64 random(80);
  for (double turns : {0.0, 1.2}) {
    SampledEdges e =
        sample_edges(5.0 + turns / 10000.0, 0.5, 0.0, 10000, random);
    e.rises.erase(e.rises.begin() + 5000);
    e.falls.erase(e.falls.begin() + 5000);
    const TestStretch s = stretch_from_edges(e.rises, e.falls, 2048);
    const double wrong = (5.0 + turns / 10000.0) * (1.0 + 1.5 / 10000.0);
    CAPTURE(turns);
    CHECK(check(s, wrong).outcome == SpectralOutcome::kDisagrees);
  }
}

TEST_CASE("check_spectrum: sees one lost edge that the numbering missed") {
  // A line through edges numbered without the lost one is off by
  // 6 u (1 - u) / N of the frequency for a loss at fraction u: 1.5 cycles over
  // the capture in the middle, 0.54 at a tenth.
  std::mt19937_64 random(78);
  for (double at : {0.5, 0.1}) {
    SampledEdges e = sample_edges(40.381966, 0.5, 0.1, 10000, random);
    const auto lost = static_cast<std::ptrdiff_t>(at * 10000);
    e.rises.erase(e.rises.begin() + lost);
    e.falls.erase(e.falls.begin() + lost);
    const TestStretch s = stretch_from_edges(e.rises, e.falls, 2048);
    const double wrong = 40.381966 * (1.0 + 6.0 * at * (1.0 - at) / 10000.0);
    const SpectralCheck c = check(s, wrong);
    CAPTURE(at);
    CHECK(c.outcome == SpectralOutcome::kDisagrees);
    CHECK(cycles_off(c, s, wrong) ==
          testing::approx(6.0 * at * (1.0 - at)).epsilon(0.05));
  }
}

TEST_CASE("check_spectrum: looks at some of many edges, and sees the same") {
  // 65 536 edges are all looked at. A period off by 1.5 cycles over the capture
  // is seen; the truth agrees, its uncertainty being that of jitter.
  constexpr std::uint64_t kSeed = 79;
  INFO("seed ", kSeed);
  std::mt19937_64 random(kSeed);
  for (std::size_t cycles : {65'000u, 66'000u, 100'000u, 700'000u}) {
    for (double period : {40.381966, 4.0002}) {
      CAPTURE(cycles);
      const SampledEdges e = sample_edges(period, 0.5, 0.2, cycles, random);
      const TestStretch s = stretch_from_edges(e.rises, e.falls, 2048);
      const auto n = static_cast<double>(cycles + 1);
      const double u =
          std::sqrt(12.0 * (1.0 / 12.0 + 0.04) / (n * (n * n - 1.0)));
      CHECK(check(s, period, u).outcome == SpectralOutcome::kAgrees);
      const SpectralCheck off = check(s, period * (1.0 + 1.5 / n), u);
      CHECK(off.outcome == SpectralOutcome::kDisagrees);
      // 0.05: the parabola's, at a third of the distance between bins.
      CHECK(cycles_off(off, s, period) == testing::approx(1.5).epsilon(0.05));
    }
  }
}

TEST_CASE("check_spectrum: a spread clock agrees, unless an edge is lost") {
  // 24 MHz at 500 MS/s, a sine of 0.5 % at 31 kHz: the carrier is weaker than
  // its sidebands, 129 cycles over the capture to either side.
  constexpr std::uint64_t kSeed = 80;
  INFO("seed ", kSeed);
  const double period = 500.0 / 24.0 * (1.0 + 1e-5), rate = 31e3 / 500e6;
  for (const double depth : {0.002, 0.005, 0.01}) {
    for (const std::size_t lost : {std::size_t{0}, std::size_t{50'000}}) {
      CAPTURE(depth);
      CAPTURE(lost);
      std::mt19937_64 random(kSeed);
      std::vector<double> moved;
      for (std::size_t i = 0; i < 200'002; ++i) {
        const double turns = static_cast<double>(i) * 0.5 * period * rate;
        moved.push_back(0.5 * depth / (2.0 * std::numbers::pi * rate) *
                        std::sin(2.0 * std::numbers::pi * turns));
      }
      SampledEdges e = sample_edges(period, 0.5, 0.01, 100'000, random, moved);
      double seen = period;
      if (lost > 0) {
        e.rises.erase(e.rises.begin() + static_cast<std::ptrdiff_t>(lost));
        e.falls.erase(e.falls.begin() + static_cast<std::ptrdiff_t>(lost));
        seen *= 1.0 + 1.5 / 100'000.0;
      }
      const SpectralCheck c =
          check(stretch_from_edges(e.rises, e.falls, 2048), seen);
      CHECK((c.outcome == SpectralOutcome::kAgrees) == (lost == 0));
    }
  }
}

TEST_CASE("check_spectrum: a frequency that steps is not taken for a spread") {
  std::mt19937_64 random(81);
  std::vector<double> moved;
  for (std::size_t i = 0; i < 40'002; ++i) {
    // 0.1 % slower, then as much faster: 20 periods behind, and back.
    const auto half = static_cast<double>(std::min(i, 40'001 - i));
    moved.push_back(half * 20.0 * 0.001);
  }
  const SampledEdges e = sample_edges(40.0, 0.5, 0.01, 20'000, random, moved);
  const SpectralCheck c =
      check(stretch_from_edges(e.rises, e.falls, 2048), 40.0);
  CHECK(c.outcome == SpectralOutcome::kDisagrees);
}

TEST_CASE("check_spectrum: is not applicable to fewer than 16 edges") {
  std::mt19937_64 random(79);
  const SampledEdges e = sample_edges(40.0, 0.5, 0.0, 14, random);
  const TestStretch s = stretch_from_edges(e.rises, e.falls, 2048);
  const SpectralCheck c = check(s, 40.0);
  CHECK(c.outcome == SpectralOutcome::kNotApplicable);
  CHECK(c.reason == "fewer than 16 rising edges");
  CHECK_FALSE(c.frequency.has_value());
}
