// SPDX-License-Identifier: GPL-3.0-or-later
// How often the 95 % half-width of a clock against a reference contains the
// truth, when both are recorded by one instrument.
//   reference_coverage [SEED [TRIALS [CELL...]]]
// CELL: only cells of which that is a part of the name, as in "400 pulses, 0.3,
// quadratic"; a cell has the same trials whichever others are run.
// One row a cell: periods of clock and reference in samples, jitter of both,
// course and size of the timebase's error in samples; then trials, coverage,
// rms error and rms half-width / 1.96 (parts in 1e9), share of captures whose
// edges were timed by the reference.
#include <algorithm>
#include <cmath>
#include <cstdio>
#include <cstdlib>
#include <random>
#include <string>
#include <vector>

#include "bench/trials.h"
#include "support/common_timebase.h"
#include "support/ratio_trial.h"

using namespace clockassay;

namespace {

struct Pair {
  const char* name;
  double clock;
  double reference;
  double length;  ///< samples
};
constexpr Pair kPairs[] = {
    {"both apart", 83.381966, 99.618034, 3e5},
    {"reference locked", 83.381966, 100.0, 3e5},
    {"reference locked, slow", 83.381966, 1000.0, 3e5},
    {"reference near", 83.381966, 100.0 * (1.0 + 3e-6), 3e5},
    {"clock locked", 80.0, 99.618034, 3e5},
    {"both locked", 80.0, 100.0, 3e5},
    {"equal, apart", 83.381966, 83.381966 * (1.0 + 4e-6), 3e5},
    {"equal, locked", 100.0 * (1.0 + 1e-6), 100.0, 3e5},
    {"clock slow", 1051.7578, 99.618034, 3e5},
    {"60 pulses", 83.381966, 1e5 * (1.0 + 12.3e-6), 6.02e6},
    {"60 pulses, slow", 30517.578125, 1e6, 6.02e7},
    {"400 pulses", 83.381966, 817.3, 3.3e5},
};
constexpr double kSigmas[] = {0.0, 0.03, 0.3, 2.0};
constexpr double kSizes[] = {0.2, 2.0, 50.0};

struct Cell {
  Pair pair;
  double sigma;
  TimebaseCourse course;
  double size;
};

struct Outcome {
  int trials = 0, covered = 0, timed = 0;
  double squares = 0.0, widths = 0.0;
};

void run_trial(const Cell& cell, std::mt19937_64& random, Outcome& out) {
  const double length = cell.pair.length;
  const auto error = time_error(cell.course, length, cell.size, random);
  const auto seen = [&](double period) {
    return see_clock({period, 0.5, cell.sigma}, length, error, random);
  };
  std::uniform_real_distribution<double> near(-1e-5, 1e-5);
  // Not the same fraction of a sample in every trial, unless it is locked.
  const double clock_period = cell.pair.clock == std::round(cell.pair.clock)
                                  ? cell.pair.clock
                                  : cell.pair.clock * (1.0 + near(random));
  const SampledEdges clock = seen(clock_period);
  const SampledEdges reference = seen(cell.pair.reference);
  const auto ratio = seen_ratio(clock, reference);
  if (!ratio) return;
  const double truth = cell.pair.reference / clock_period;
  const double off = ratio->value / truth - 1.0;
  const double width = half_width_of(*ratio);
  ++out.trials;
  out.covered += std::abs(off) <= width;
  out.timed += ratio->timed_by_reference;
  out.squares += off * off;
  out.widths += width * width / (1.96 * 1.96);
}

const char* course_name(const Cell& cell) {
  return kTimebaseCourses[static_cast<int>(cell.course)];
}

std::string name_of(const Cell& c) {
  char text[96];
  std::snprintf(text, sizeof text, "%s, %.2f, %s %.1f", c.pair.name, c.sigma,
                course_name(c), c.size);
  return text;
}

std::vector<Cell> all_cells() {
  std::vector<Cell> cells;
  for (const Pair& pair : kPairs) {
    for (const double sigma : kSigmas) {
      cells.push_back({pair, sigma, TimebaseCourse::kSteady, 0.0});
      for (int c = 1; c <= 5; ++c) {
        for (const double size : kSizes) {
          cells.push_back({pair, sigma, static_cast<TimebaseCourse>(c), size});
        }
      }
    }
  }
  return cells;
}

}  // namespace

int main(int argc, char** argv) {
  const auto number = [&](int i, std::uint64_t otherwise) {
    return argc > i ? std::strtoull(argv[i], nullptr, 10) : otherwise;
  };
  const std::uint64_t seed = number(1, 1);
  const int trials = static_cast<int>(number(2, 200));
  const std::vector<std::string> parts(argv + std::min(argc, 3), argv + argc);
  const auto is_wanted = [&](const Cell& cell) {
    return parts.empty() ||
           std::any_of(parts.begin(), parts.end(),
                       [&](const std::string& part) {
                         return name_of(cell).find(part) != std::string::npos;
                       });
  };
  const std::vector<Cell> cells = all_cells();
  const auto outcomes = trials_of(cells.size(), [&](std::size_t i) {
    Outcome outcome;
    if (!is_wanted(cells[i])) return outcome;
    std::seed_seq seeds{seed, static_cast<std::uint64_t>(i)};
    std::mt19937_64 random(seeds);
    const double edges = cells[i].pair.length / cells[i].pair.clock;
    const int n = edges > 1e5 ? trials / 10 : trials;
    for (int t = 0; t < n; ++t) run_trial(cells[i], random, outcome);
    return outcome;
  });
  std::printf("seed %llu\n", static_cast<unsigned long long>(seed));
  for (std::size_t i = 0; i < cells.size(); ++i) {
    const Cell& c = cells[i];
    const Outcome& o = outcomes[i];
    if (!is_wanted(c)) continue;
    const double n = o.trials;
    std::printf("%-22s %4.2f %-9s %5.1f  %5d %.3f %10.4g %10.4g %.2f\n",
                c.pair.name, c.sigma, course_name(c), c.size, o.trials,
                o.covered / n, 1e9 * std::sqrt(o.squares / n),
                1e9 * std::sqrt(o.widths / n), o.timed / n);
  }
  return 0;
}
