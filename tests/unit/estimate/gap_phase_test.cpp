// SPDX-License-Identifier: GPL-3.0-or-later
#include "estimate/gap_phase.h"

#include <doctest/doctest.h>

#include <cmath>
#include <random>
#include <utility>
#include <vector>

#include "support/approx.h"
#include "support/test_stretch.h"

using namespace clockassay;

namespace {

/// Rising edges that are seen of `cycles`, sampled, in one block or several.
Stretch rising(const std::vector<NumberedEdge>& edges, std::size_t block) {
  Stretch s;
  s.first = Ticks(edges.front().tick);
  s.last = Ticks(edges.back().tick);
  for (std::size_t i = 0; i < edges.size(); i += block) {
    ExplicitEdges some;
    for (std::size_t j = i; j < std::min(i + block, edges.size()); ++j) {
      some.rise.push_back(edges[j]);
    }
    s.blocks.push_back({Cycles(0), Ticks(0), std::move(some)});
  }
  return s;
}

std::optional<GapJump> jump_in(const std::vector<NumberedEdge>& edges,
                               double window, std::size_t block = 1000) {
  const Stretch s = rising(edges, block);
  const EdgeView view(s);
  return find_gap_jump(view, sum_edges(view, serial_for).value(), window);
}

struct Faults {
  double sigma = 0.0;
  double lost = 0.0;      ///< share of cycles
  std::int64_t stop = 0;  ///< cycles lost at cycle stop_at
  std::int64_t stop_at = 0;
  double jump = 0.0;  ///< of the phase there [samples]
};

std::vector<NumberedEdge> seen_edges(double period, std::int64_t cycles,
                                     const Faults& f, std::mt19937_64& random) {
  std::normal_distribution<double> jitter;
  std::uniform_real_distribution<double> uniform;
  const double phase = uniform(random);
  std::vector<NumberedEdge> edges;
  for (std::int64_t k = 0; k < cycles; ++k) {
    const bool after = f.stop > 0 && k >= f.stop_at + f.stop;
    const double at = phase + period * static_cast<double>(k) +
                      f.sigma * jitter(random) + (after ? f.jump : 0.0);
    if (f.stop > 0 && k >= f.stop_at && !after) continue;
    const bool lost = uniform(random) < f.lost;
    if (lost && k > 0 && k + 1 < cycles) continue;
    edges.push_back({k, static_cast<std::int64_t>(std::ceil(at))});
  }
  return edges;
}

}  // namespace

TEST_CASE("find_gap_jump: a clock that stopped for half a period more") {
  // Exact edges every 10: cycles 5 to 7 are not seen, then all is 4 late. Lines
  // without scatter, and Σ|weights| is 2 and a bit: more than a window of 1.
  std::vector<NumberedEdge> edges;
  for (std::int64_t k = 0; k < 16; ++k) {
    if (k >= 5 && k < 8) continue;
    edges.push_back({k, 10 * k + (k >= 8 ? 4 : 0)});
  }
  for (const std::size_t block : {std::size_t{1000}, std::size_t{4}}) {
    const auto gap = jump_in(edges, 1.0, block);
    REQUIRE(gap);
    CHECK(gap->lost == 3);
    CHECK(gap->after == Ticks(84));
    CHECK(gap->jump == testing::approx(4.0));
  }
  // What four windows may do is no jump.
  CHECK_FALSE(jump_in(edges, 4.0));
}

TEST_CASE("find_gap_jump: nothing where nothing is lost, or too few are left") {
  std::vector<NumberedEdge> edges;
  for (std::int64_t k = 0; k < 16; ++k) edges.push_back({k, 10 * k});
  CHECK_FALSE(jump_in(edges, 1.0));
  edges = {{0, 0}, {1, 10}, {4, 44}, {5, 54}, {6, 64}, {7, 74}};
  CHECK_FALSE(jump_in(edges, 1.0));
}

TEST_CASE("find_gap_jump: damage of the capture is none") {
  // White jitter, lost cycles, near and far from round fractions: less than one
  // capture in a thousand; none of 1500 would be more than that by five
  // standard deviations if 9 were found.
  constexpr std::uint64_t kSeed = 73;
  INFO("seed ", kSeed);
  std::mt19937_64 random(kSeed);
  int alarms = 0;
  for (const double period : {40.382, 40.0, 40.0004, 13.0 + 1.0 / 3.0, 5.62}) {
    for (const double sigma : {0.0, 0.05, 0.5}) {
      for (int i = 0; i < 100; ++i) {
        const Faults f{sigma, i % 2 == 0 ? 0.02 : 0.2, 12, 30 + i};
        alarms += jump_in(seen_edges(period, 200, f, random), 1.0).has_value();
      }
    }
  }
  CHECK(alarms < 9);
}

TEST_CASE("find_gap_jump: stops are found wherever they are in a capture") {
  // Σ|weights| of 32 edges on either side and 12 lost is 4.4, so sampling moves
  // the lines by 2.2 samples at most; jitter of 0.5 by 0.4 rms or so. Once in
  // 40 chance makes neighbouring periods look as though the phase walked: 5 of
  // 200, and five standard deviations more.
  constexpr std::uint64_t kSeed = 74;
  INFO("seed ", kSeed);
  std::mt19937_64 random(kSeed);
  int found = 0;
  for (int i = 0; i < 200; ++i) {
    const Faults f{0.5, 0.01, 12, 20 + i, i % 2 == 0 ? 6.0 : -6.0};
    const auto gap = jump_in(seen_edges(40.0, 300, f, random), 1.0, 50);
    found += gap && gap->jump * f.jump > 0.0;
  }
  CHECK(found >= 200 - 5 - 11);
}

TEST_CASE("find_gap_jump: a phase that walks goes on walking over a gap") {
  // Each period deviates by a sample: over a gap of 12, and the 16 or so to the
  // middles of either side, the phase moves by 6 rms. None of these clocks
  // stopped; what the walk is allowed is by an estimate of its own from 280
  // periods, good to a quarter, so that a few are found: 2 in 100 at most, by
  // five standard deviations of 300.
  constexpr std::uint64_t kSeed = 75;
  INFO("seed ", kSeed);
  std::mt19937_64 random(kSeed);
  std::normal_distribution<double> step;
  int alarms = 0;
  for (int i = 0; i < 300; ++i) {
    double at = 0.0;
    std::vector<NumberedEdge> edges;
    for (std::int64_t k = 0; k < 300; ++k, at += 40.0 + step(random)) {
      if (k >= 100 && k < 112) continue;
      edges.push_back({k, static_cast<std::int64_t>(std::ceil(at))});
    }
    alarms += jump_in(edges, 1.0).has_value();
  }
  CHECK(alarms <= 6 + 12);
}
