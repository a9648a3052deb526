// SPDX-License-Identifier: GPL-3.0-or-later
#include "clockassay/estimate/wander.h"

#include <doctest/doctest.h>

#include <cmath>

#include "clockassay/estimate/edge_line.h"
#include "clockassay/estimate/residual_pass.h"
#include "support/test_stretch.h"

using namespace clockassay;

namespace {

std::optional<double> wander_of(const SampledEdges& e) {
  const TestStretch s = stretch_from_edges(e.rises, e.falls, 512);
  const EdgeView view(s.stretch);
  const EdgeSums sums = sum_edges(view, serial_for).value();
  const auto line = fit_line(sums.rise, sums.fall);
  REQUIRE(line);
  return find_wander(sum_equal_parts(view, sums, kWanderParts, serial_for),
                     line->slope, 1.0);
}

}  // namespace

TEST_CASE("find_wander: a constant clock does not wander, however it beats") {
  constexpr std::uint64_t kSeed = 5;
  INFO("seed ", kSeed);
  std::mt19937_64 random(kSeed);
  for (double period : {40.381966, 40.0, 40.0002, 40.002, 20.50001, 8.38}) {
    for (double sigma : {0.0, 0.03, 0.3, 3.0}) {
      if (sigma > period / 8) continue;
      for (std::size_t cycles : {128u, 1000u, 10000u}) {
        for (int trial = 0; trial < 20; ++trial) {
          CAPTURE(period);
          CAPTURE(sigma);
          CAPTURE(cycles);
          CHECK_FALSE(
              wander_of(sample_edges(period, 0.5, sigma, cycles, random)));
        }
      }
    }
  }
}

TEST_CASE("find_wander: a step within the capture is contained by the result") {
  // 40 ticks for the first half, 40.02 for the second: 500 ppm. The line lies
  // between; the furthest part is off by about half of that.
  std::mt19937_64 random(6);
  SampledEdges e = sample_edges(40.0, 0.5, 0.1, 4000, random);
  SampledEdges second = sample_edges(40.02, 0.5, 0.1, 4000, random);
  const std::int64_t shift = e.rises.back() + 40 - second.rises.front();
  for (std::size_t i = 0; i < second.rises.size(); ++i) {
    e.rises.push_back(second.rises[i] + shift);
    e.falls.push_back(second.falls[i] + shift);
  }
  const auto wander = wander_of(e);
  REQUIRE(wander);
  // The slope of a line over two equal ramps is their mean, 40.01; the
  // outermost windows, of 1000 edges, lie wholly on one ramp, 0.01 off, but for
  // their own scatter and sampling.
  const double part_sigma = 0.31 * std::sqrt(12.0) / std::pow(1000.0, 1.5);
  CHECK(std::abs(*wander - 0.01) < 5.0 * part_sigma + 1.5 / 1000.0);
}

TEST_CASE("find_wander: lost time is seen wherever it happened") {
  // Three samples go missing at once, at any fraction of the capture: a window
  // with the jump in its middle half is off by at least 1.1 * 3 / n, where
  // sampling explains 1.5 / n and the jump's own scatter 0.75 of a sample. (Up
  // to two samples the half-width covers without.)
  std::mt19937_64 random(8);
  const SampledEdges clean = sample_edges(40.381966, 0.5, 0.0, 2000, random);
  for (std::size_t at = 150; at < 1850; at += 50) {
    CAPTURE(at);
    SampledEdges e = clean;
    for (std::size_t i = at; i < e.rises.size(); ++i) {
      e.rises[i] -= 3;
      e.falls[i] -= 3;
    }
    CHECK(wander_of(e));
  }
}

TEST_CASE("find_wander: one part says nothing") {
  std::vector<LineSums> parts(1);
  for (std::int64_t k = 0; k < 10; ++k) parts[0].add(k, 1000 * k * k);
  CHECK_FALSE(find_wander(parts, 0.0, 1.0));
}
