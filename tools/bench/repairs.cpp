// SPDX-License-Identifier: GPL-3.0-or-later
// What lost cycles and extra edges cost after they were repaired.
//   repairs [SEED [TRIALS [CYCLES [more]]]]
// more: other kinds of faults, periods and duties instead of the plain table.
// Each trial is a clock measured twice, before and after its level changes were
// damaged. One row a cell: clock, faults; trials; share analysed in one
// stretch; rms error in ppm and over the rms without faults; coverage of the
// stated 95 % half-width without and with faults, and the median half-width
// over that without; lost cycles and extra edges counted per trial, and how far
// off on average; share where the spectral check disagrees; slips (off by more
// than half a cycle over what was analysed); trials with edges of wrong number.
#include <algorithm>
#include <cmath>
#include <cstdio>
#include <cstdlib>
#include <random>
#include <string>
#include <vector>

#include "bench/trials.h"
#include "clockassay/edges/numbering.h"
#include "clockassay/estimate/clock_estimate.h"
#include "support/edge_faults.h"
#include "support/test_channel.h"

using namespace clockassay;

namespace {

struct Clock {
  double period;  ///< samples
  double sigma;   ///< rms jitter of an edge, samples
  double duty = 0.43;
};

struct Fault {
  const char* name;
  EdgeFaults faults;
};

constexpr Clock kClocks[] = {{40.38, 0.05}, {40.38, 1.0}, {8.38, 0.3},
                             {3.38, 0.1},   {2.62, 0.05}, {8.38, 1.0},
                             {40.38, 5.0}};

std::vector<Fault> plain_faults() {
  return {{"none", {}},
          {"1 drop", {.drops = 1}},
          {"1 glitch", {.spikes = 1}},
          {"1 % drops", {.lost_pulses = 0.01}},
          {"1 % glitches", {.glitches = 0.01}},
          {"both 1 %", {.lost_pulses = 0.01, .glitches = 0.01}},
          {"both 10 %", {.lost_pulses = 0.1, .glitches = 0.1}},
          {"30 % drops", {.lost_pulses = 0.3}}};
}

// Locked, 5 ppm off, and another duty; then the kinds of faults.
constexpr Clock kMoreClocks[] = {
    {40.38, 0.05}, {40.38, 1.0},    {8.38, 0.3},       {40.0, 0.0},
    {40.0, 0.05},  {40.0002, 0.05}, {40.38, 0.3, 0.3}, {8.38, 0.1, 0.3}};

std::vector<Fault> more_faults() {
  return {{"edges 1 %", {.lost_edges = 0.01}},
          {"edges 10 %", {.lost_edges = 0.1}},
          {"high 1 %", {.glitches = 0.01, .place = GlitchPlace::kHigh}},
          {"low 1 %", {.glitches = 0.01, .place = GlitchPlace::kLow}},
          {"beside 1 %", {.glitches = 0.01, .place = GlitchPlace::kBesideEdge}},
          {"beside 10 %", {.glitches = 0.1, .place = GlitchPlace::kBesideEdge}},
          {"over 5 %", {.glitches = 0.05, .place = GlitchPlace::kOverEdges}},
          {"runts 10 %", {.runts = 0.1}},
          {"all 5 %", {.lost_edges = 0.05, .glitches = 0.05, .runts = 0.05}},
          {"1 burst", {.bursts = 1}},
          {"5 bursts", {.bursts = 5}},
          {"at the ends", {.at_ends = 1}},
          {"ends, crowded", {.at_ends = 3}}};
}

/// What was made of one capture.
struct Reading {
  std::size_t stretches = 0;
  bool estimated = false;
  double error = 0.0;       ///< of the period, relative
  double half_width = 0.0;  ///< relative
  double cycles = 0.0;      ///< in what was analysed
  std::int64_t missing = 0, extra = 0;
  bool disagrees = false;
  double misnumbered = 0.0;  ///< share of rising edges
};

struct Trial {
  Reading clean, damaged;
  std::int64_t lost_cycles = 0, extra_edges = 0;  ///< true
};

/// Share of rising edges whose number is not the one their instant says.
double misnumbered(const Stretch& stretch, double phase, double period) {
  const EdgeView view(stretch);
  BlockEdges edges;
  std::vector<std::int64_t> offsets;
  for (std::size_t b = 0; b < view.block_count(); ++b) {
    view.read_block(b, edges);
    for (std::size_t i = 0; i < edges.rise.count; ++i) {
      const auto tick =
          static_cast<double>(edges.first_tick.count() + edges.rise.tick[i]);
      offsets.push_back(std::llround((tick - phase) / period) -
                        edges.first_cycle.count() - edges.rise.cycle[i]);
    }
  }
  std::vector<std::int64_t> sorted = offsets;
  std::sort(sorted.begin(), sorted.end());
  const std::int64_t usual = sorted[sorted.size() / 2];
  const auto right = std::count(offsets.begin(), offsets.end(), usual);
  return 1.0 - static_cast<double>(right) / static_cast<double>(offsets.size());
}

Reading read(const std::vector<std::int64_t>& changes, double period,
             double phase) {
  TickScale scale;
  scale.sample_ticks = Rational(1);
  const TestChannel channel =
      channel_from_changes(changes, -100, changes.back() + 1);
  const EdgeStore store = number_cycles(channel.record, 1.0);
  Reading r;
  r.stretches = store.stretches.size();
  if (store.stretches.empty()) return r;
  const Stretch& stretch = store.stretches.back();
  r.missing = stretch.missing;
  r.extra = stretch.extra;
  r.misnumbered = misnumbered(stretch, phase, period);
  const auto estimate = estimate_clock(EdgeView(stretch), scale, serial_for);
  if (!estimate) return r;
  r.estimated = true;
  const double f = estimate->frequency.frequency.value();
  r.error = f * period - 1.0;
  r.half_width = estimate->frequency.half_width.value() * period;
  r.cycles =
      static_cast<double>((stretch.last - stretch.first).count()) / period;
  r.disagrees = estimate->spectral_check.outcome == SpectralOutcome::kDisagrees;
  return r;
}

Trial run(const Clock& clock, const EdgeFaults& faults, std::size_t cycles,
          std::mt19937_64& random) {
  // Not always the same phases: within half a cycle over the capture. A clock
  // of whole samples is what it is.
  std::uniform_real_distribution<double> uniform(-0.5, 0.5);
  const bool round = std::abs(clock.period - 40.0) < 0.01;
  const double period = clock.period + (round ? 0.0 : 1e-3 * uniform(random));
  const SampledEdges edges =
      sample_edges(period, clock.duty, clock.sigma, cycles - 1, random);
  Trial t;
  const DamagedClock whole = damage_edges(edges, {}, random);
  const DamagedClock damaged = damage_edges(edges, faults, random);
  t.clean = read(whole.changes, period, edges.phase);
  t.damaged = read(damaged.changes, period, edges.phase);
  t.lost_cycles = damaged.lost_cycles;
  t.extra_edges = damaged.extra_edges;
  return t;
}

struct Summary {
  double trials = 0, one_stretch = 0, squares = 0, clean_squares = 0;
  double covered = 0, clean_covered = 0, disagrees = 0, slips = 0, wrong = 0;
  double missing = 0, extra = 0, missing_off = 0, extra_off = 0;
  double width = 0;  ///< median of damaged over clean
};

Summary summary(const std::vector<Trial>& trials) {
  Summary s;
  std::vector<double> widths;
  for (const Trial& t : trials) {
    const Reading &d = t.damaged, &c = t.clean;
    ++s.trials;
    s.one_stretch += d.stretches == 1;
    s.clean_squares += c.error * c.error;
    s.clean_covered += std::abs(c.error) <= c.half_width;
    s.squares += d.error * d.error;
    s.covered += d.estimated && std::abs(d.error) <= d.half_width;
    s.disagrees += d.disagrees;
    s.slips += std::abs(d.error) * d.cycles > 0.5;
    s.wrong += d.misnumbered > 0.005;
    s.missing += static_cast<double>(d.missing);
    s.extra += static_cast<double>(d.extra);
    s.missing_off += static_cast<double>(d.missing - t.lost_cycles);
    s.extra_off += static_cast<double>(d.extra - t.extra_edges);
    widths.push_back(d.half_width / c.half_width);
  }
  std::sort(widths.begin(), widths.end());
  s.width = widths[widths.size() / 2];
  return s;
}

void print_cell(const Clock& clock, const Fault& fault,
                const std::vector<Trial>& trials) {
  const Summary s = summary(trials);
  const double n = s.trials;
  std::printf(
      "%-7g %-4g %-4g %-13s %5g  %.3f  %8.4g %5.2f  %.3f %.3f %5.2f  %7.2f "
      "%+6.2f %7.2f %+6.2f  %.3f %3g %3g\n",
      clock.period, clock.sigma, clock.duty, fault.name, n, s.one_stretch / n,
      1e6 * std::sqrt(s.squares / n), std::sqrt(s.squares / s.clean_squares),
      s.clean_covered / n, s.covered / n, s.width, s.missing / n,
      s.missing_off / n, s.extra / n, s.extra_off / n, s.disagrees / n, s.slips,
      s.wrong);
  std::fflush(stdout);
}

}  // namespace

int main(int argc, char** argv) {
  const auto argument = [&](int i, std::size_t otherwise) {
    return i < argc ? std::strtoull(argv[i], nullptr, 10) : otherwise;
  };
  const std::size_t seed = argument(1, 1), count = argument(2, 300);
  const std::size_t cycles = argument(3, 5000);
  const bool more = argc > 4 && std::string(argv[4]) == "more";
  std::printf(
      "seed %zu, %zu cycles\n"
      "period  rms  duty faults       trials one st  rms ppm ratio  cover "
      "cover width     lost    off   extra    off  spect slp wrg\n",
      seed, cycles);
  const std::vector<Fault> faults = more ? more_faults() : plain_faults();
  const auto* begin = more ? std::begin(kMoreClocks) : std::begin(kClocks);
  const auto* end = more ? std::end(kMoreClocks) : std::end(kClocks);
  for (const Clock* clock = begin; clock != end; ++clock) {
    for (std::size_t f = 0; f < faults.size(); ++f) {
      const auto make = [&](std::size_t t) {
        std::seed_seq seeds{seed, cycles, t, f,
                            static_cast<std::size_t>(clock - begin)};
        std::mt19937_64 random(seeds);
        return run(*clock, faults[f].faults, cycles, random);
      };
      print_cell(*clock, faults[f], trials_of(count, make));
    }
  }
}
