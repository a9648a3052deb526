// SPDX-License-Identifier: GPL-3.0-or-later
// What each step costs, in nanoseconds per level change, on one thread: the
// least of some runs.
//   cost [CYCLES [RUNS]]
#include <algorithm>
#include <array>
#include <chrono>
#include <cstdio>
#include <cstdlib>
#include <limits>
#include <random>

#include "clockassay/edges/numbering.h"
#include "clockassay/estimate/clock_estimate.h"
#include "clockassay/estimate/edge_line.h"
#include "clockassay/estimate/edge_sums.h"
#include "clockassay/estimate/feasible_set.h"
#include "clockassay/estimate/frequency_steps.h"
#include "clockassay/estimate/residual_pass.h"
#include "clockassay/estimate/spectral_check.h"
#include "estimate/likelihood_estimate.h"
#include "support/coverage_trial.h"
#include "support/test_channel.h"

using namespace clockassay;

namespace {

template <class Step>
void print_cost(const char* name, double changes, int runs, const Step& step) {
  double least = std::numeric_limits<double>::infinity();
  for (int i = 0; i < runs; ++i) {
    const auto begin = std::chrono::steady_clock::now();
    step();
    const std::chrono::duration<double, std::nano> took =
        std::chrono::steady_clock::now() - begin;
    least = std::min(least, took.count());
  }
  std::printf("  %-28s %8.2f\n", name, least / changes);
}

void study(const PeriodKind& kind, double sigma, std::size_t cycles, int runs) {
  constexpr double kDuty = 0.43;
  std::mt19937_64 random(1);
  const SampledEdges e = sample_edges(kind.base, kDuty, sigma, cycles, random);
  std::vector<std::int64_t> changes;
  for (std::size_t i = 0; i < e.rises.size(); ++i) {
    changes.push_back(e.rises[i]);
    changes.push_back(e.falls[i]);
  }
  const TestChannel channel =
      channel_from_changes(changes, changes.front() - 1, changes.back() + 1);
  const auto n = static_cast<double>(changes.size());
  std::printf("%s, jitter %g samples\n", kind.name, sigma);
  print_cost("numbering", n, runs, [&] { number_cycles(channel.record, 1.0); });
  const EdgeStore store = number_cycles(channel.record, 1.0);
  const EdgeView view(store.stretches.front());
  TickScale scale;
  scale.sample_ticks = Rational(1);
  print_cost("sums", n, runs, [&] { (void)sum_edges(view, serial_for); });
  const EdgeSums sums = *sum_edges(view, serial_for);
  const LineFit line = *fit_line(sums.rise, sums.fall);
  print_cost("extremes", n, runs,
             [&] { find_extremes(view, sums.frame, line.slope, serial_for); });
  const ViewExtremes extremes =
      find_extremes(view, sums.frame, line.slope, serial_for);
  print_cost("feasible set", n, runs, [&] {
    find_feasible_set(view, sums.frame, extremes, kWindowUnits, serial_for);
  });
  const FeasibleSet set =
      find_feasible_set(view, sums.frame, extremes, kWindowUnits, serial_for);
  print_cost("residuals and parts", n, runs,
             [&] { pass_residuals(view, sums, extremes, 32, serial_for); });
  print_cost("likelihood", n, runs, [&] {
    estimate_by_likelihood(view, sums, line, set, extremes, 1.0, serial_for);
  });
  const double period = static_cast<double>(sums.frame.period) + line.slope;
  print_cost("spectral check", n, runs, [&] {
    check_spectrum(view, {sums.rise.n, period, 1.0, 1e-6, 1.0}, serial_for);
  });
  print_cost("steps of the frequency", n, runs,
             [&] { follow_frequency(view, scale, serial_for); });
  print_cost("estimate, all of it", n, runs,
             [&] { (void)estimate_clock(view, scale, serial_for); });
}

}  // namespace

int main(int argc, char** argv) {
  const std::size_t cycles =
      argc > 1 ? std::strtoull(argv[1], nullptr, 10) : 500'000;
  const int runs = argc > 2 ? std::atoi(argv[2]) : 5;
  std::printf("%zu cycles, ns a level change\n", cycles);
  for (const double sigma : {0.0, 0.1, 1.0}) {
    study(kPeriodKinds[0], sigma, cycles, runs);
    study(kPeriodKinds[3], sigma, cycles, runs);
  }
}
