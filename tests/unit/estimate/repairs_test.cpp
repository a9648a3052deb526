// SPDX-License-Identifier: GPL-3.0-or-later
// What repairs cost the estimate; tools/bench/repairs does the same at length.
#include <doctest/doctest.h>

#include <algorithm>
#include <cmath>
#include <random>
#include <vector>

#include "clockassay/edges/numbering.h"
#include "clockassay/estimate/clock_estimate.h"
#include "support/edge_faults.h"
#include "support/test_channel.h"

using namespace clockassay;

namespace {

constexpr std::size_t kCycles = 2000;
constexpr std::size_t kTrials = 60;

struct Reading {
  std::size_t stretches = 0;
  std::int64_t missing = 0, extra = 0;
  double error = 0.0;       // relative
  double half_width = 0.0;  // relative
};

Reading read(const DamagedClock& clock, double period) {
  TickScale scale;
  scale.sample_ticks = Rational(1);
  const TestChannel channel =
      channel_from_changes(clock.changes, -100, clock.changes.back() + 1);
  const EdgeStore store = number_cycles(channel.record, 1.0);
  Reading r;
  r.stretches = store.stretches.size();
  REQUIRE(r.stretches > 0);
  const Stretch& last = store.stretches.back();
  r.missing = last.missing;
  r.extra = last.extra;
  const auto estimate = estimate_clock(EdgeView(last), scale, serial_for);
  REQUIRE(estimate);
  r.error = estimate->frequency.frequency.value() * period - 1.0;
  r.half_width = estimate->frequency.half_width.value() * period;
  return r;
}

struct Cell {
  double period, sigma, faults;  // samples, share of cycles
};

struct Totals {
  int covered = 0;
  double squares = 0.0, clean_squares = 0.0;
  double missing_off = 0.0, extra_off = 0.0;
  std::vector<double> widths;  // over those without faults
};

Totals run(const Cell& cell, std::mt19937_64& random) {
  std::uniform_real_distribution<double> uniform(-5e-4, 5e-4);
  Totals totals;
  for (std::size_t t = 0; t < kTrials; ++t) {
    CAPTURE(t);
    const double period = cell.period + uniform(random);
    const SampledEdges edges =
        sample_edges(period, 0.43, cell.sigma, kCycles - 1, random);
    const Reading clean = read(damage_edges(edges, {}, random), period);
    const DamagedClock damaged = damage_edges(
        edges, {.lost_pulses = cell.faults, .glitches = cell.faults}, random);
    const Reading r = read(damaged, period);
    CHECK(r.stretches == 1);
    // A slip is half a cycle over the capture and more.
    CHECK(std::abs(r.error) * kCycles < 0.1);
    totals.covered += std::abs(r.error) <= r.half_width;
    totals.squares += r.error * r.error;
    totals.clean_squares += clean.error * clean.error;
    totals.missing_off += static_cast<double>(r.missing - damaged.lost_cycles);
    totals.extra_off += static_cast<double>(r.extra - damaged.extra_edges);
    totals.widths.push_back(r.half_width / clean.half_width);
  }
  std::sort(totals.widths.begin(), totals.widths.end());
  return totals;
}

}  // namespace

TEST_CASE(
    "repairs: a tenth of cycles lost and a tenth of glitches cost little") {
  constexpr std::uint64_t kSeed = 31;
  INFO("seed ", kSeed);
  std::mt19937_64 random(kSeed);
  int covered = 0;
  std::size_t trials = 0;
  for (const Cell& cell :
       {Cell{40.38, 0.05, 0.01}, Cell{40.38, 0.05, 0.1}, Cell{8.38, 0.3, 0.1},
        Cell{3.38, 0.1, 0.1}, Cell{8.38, 1.0, 0.1}, Cell{40.38, 5.0, 0.1}}) {
    CAPTURE(cell.period);
    CAPTURE(cell.sigma);
    CAPTURE(cell.faults);
    const Totals totals = run(cell, random);
    covered += totals.covered;
    trials += kTrials;
    // Of 1 in 10 edges fewer, 1.05; with suspects left out 1.09. An rms of 60
    // has a standard deviation of 0.09, the two have most in common: four.
    CHECK(std::sqrt(totals.squares / totals.clean_squares) < 1.09 + 4 * 0.09);
    const double width = totals.widths[kTrials / 2];
    CHECK(width > 0.99);
    CHECK(width < 1.15);
    // An extra edge is taken for a lost one where both fall into the same
    // cycle and the extra one within 6 sigma of its place, sampling included.
    const double scatter = std::sqrt(cell.sigma * cell.sigma + 1.0 / 12.0);
    const double reach = 2.0 * 6.0 * scatter / cell.period;
    const double stand_in =
        kTrials * kCycles * cell.faults * cell.faults * std::min(1.0, reach);
    // Suspects, one in eight of up to four edges about such a cycle, and edges
    // out of reach of their cycle, 2 in 1000 at jitter of 12 %.
    const double rejected =
        0.5 * kTrials * kCycles * cell.faults * cell.faults +
        (cell.sigma > 0.1 * cell.period ? 4e-3 * kTrials * kCycles : 0.0);
    const double chance = 4.0 * std::sqrt(stand_in + rejected) + 1.0;
    CHECK(totals.missing_off > -stand_in - chance);
    CHECK(totals.missing_off < rejected + chance);
    CHECK(totals.extra_off > -2.0 * (stand_in + chance));
    CHECK(totals.extra_off < 2.0 * (rejected + chance));
  }
  // The half-width contains the truth 95 times in 100, in some cells 97: four
  // standard deviations of the binomial distribution about these.
  INFO(covered, " of ", trials);
  const auto n = static_cast<double>(trials);
  CHECK(covered >= 0.95 * n - 4.0 * std::sqrt(0.95 * 0.05 * n));
  CHECK(covered <= 0.97 * n + 4.0 * std::sqrt(0.97 * 0.03 * n));
}

TEST_CASE(
    "repairs: glitches that move edges do not narrow a clock's interval that "
    "is near a round fraction of the sample rate") {
  constexpr std::uint64_t kSeed = 33;
  INFO("seed ", kSeed);
  std::mt19937_64 random(kSeed);
  constexpr std::size_t kLocked = 40;  // trials a cell
  int covered = 0, far = 0, trials = 0;
  for (const double round : {8.0, 40.0}) {
    for (const double sigma : {0.03, 0.1, 0.3, 1.0}) {
      CAPTURE(round);
      CAPTURE(sigma);
      std::vector<double> widths;
      for (std::size_t t = 0; t < kLocked; ++t) {
        CAPTURE(t);
        const double period = round * (1.0 + 1e-5 * static_cast<double>(t));
        const SampledEdges edges = sample_edges(
            period, 0.43, std::min(sigma, period / 10), 999, random);
        const Reading clean = read(damage_edges(edges, {}, random), period);
        const Reading r = read(
            damage_edges(edges,
                         {.glitches = 0.05, .place = GlitchPlace::kOverEdges},
                         random),
            period);
        covered += std::abs(r.error) <= r.half_width;
        far += std::abs(r.error) > 2.0 * r.half_width;
        ++trials;
        widths.push_back(r.half_width / clean.half_width);
      }
      std::sort(widths.begin(), widths.end());
      // Half of them are no narrower but for their own scatter: that of the
      // estimated jitter, by which both differ.
      CHECK(widths[kLocked / 2] > 0.9);
      CHECK(widths[kLocked / 2] < 1.5);
    }
  }
  // 93 of 100 at least (docs/coverage.md), less four standard deviations.
  INFO(covered, " of ", trials);
  CHECK(covered >= 0.93 * trials - 4.0 * std::sqrt(0.93 * 0.07 * trials));
  // Twice the half-width is 3.9 standard deviations, 1e-4: 0.03 of the trials,
  // and more than two of them once in 2e5.
  CHECK(far <= 2);
}
