// SPDX-License-Identifier: GPL-3.0-or-later
// How often steps of the frequency are found, and where, and how often none
// that is not there; and what a step leaves of the last stretch's half-width.
//   steps [SEED [TRIALS [PART_OF_NAME]]]
// One row a case: name; share of trials with any step, and with as many as
// there are within 2 % of the capture; of the latter: median distance from the
// truth in cycles, share in which each lies where it is said to, and share in
// which the half-width of the last stretch holds. "off": share of trials in
// which a part of a constant clock is further off than it claims to be at most.
#include <algorithm>
#include <cmath>
#include <cstdio>
#include <cstdlib>
#include <functional>
#include <random>
#include <string>
#include <vector>

#include "bench/trials.h"
#include "clockassay/estimate/clock_estimate.h"
#include "clockassay/estimate/frequency_steps.h"
#include "support/moved_clock.h"
#include "support/power_law_noise.h"
#include "support/test_stretch.h"

using namespace clockassay;

namespace {

// As far from all simple fractions as a number can be.
constexpr double kGolden = 40.381966011250105;

struct Case {
  std::string name;
  double period = kGolden;  ///< samples
  double sigma = 0.1;       ///< samples
  std::vector<FrequencyJump> jumps = {};
  std::function<double(double)> drift = {};  ///< ppm at a fraction
  PowerLaw noise = PowerLaw::kNone;
  double rms = 0.0;
  std::size_t cycles = 16384;
};

struct Trial {
  bool any = false;
  bool right = false;
  double distance = 0.0;  ///< furthest [cycles]
  bool contained = true;
  bool covered = false;
  bool off = false;
};

SampledEdges edges_of(const Case& c, std::mt19937_64& random) {
  std::vector<double> moved = moved_edges(c.period, c.cycles, [&](double u) {
    return ppm_after(c.jumps, u) + (c.drift ? c.drift(u) : 0.0);
  });
  if (c.noise != PowerLaw::kNone) {
    const auto noise = power_law_noise(c.noise, moved.size(), c.rms, random);
    for (std::size_t i = 0; i < moved.size(); ++i) moved[i] += noise[i];
  }
  return sample_edges(c.period, 0.43, c.sigma, c.cycles, random, moved);
}

void compare(const Case& c, const SampledEdges& e,
             const std::vector<FrequencyStep>& steps, Trial& t) {
  for (std::size_t i = 0; i < steps.size(); ++i) {
    const auto k = static_cast<std::size_t>(
        std::ceil(c.jumps[i].at * static_cast<double>(c.cycles)));
    const auto truth = static_cast<double>(e.rises[k]);
    const auto before = static_cast<double>(steps[i].before.count());
    const auto after = static_cast<double>(steps[i].after.count());
    const double off = std::abs(0.5 * (before + after) - truth) / c.period;
    t.distance = std::max(t.distance, off);
    t.contained &=
        before <= truth + 1.5 * c.period && after >= truth - 1.5 * c.period;
  }
  t.right = t.distance < 0.02 * static_cast<double>(c.cycles);
}

Trial run(const Case& c, std::mt19937_64& random) {
  const SampledEdges e = edges_of(c, random);
  const TestStretch s = stretch_from_edges(e.rises, e.falls, 2048);
  TickScale scale;
  scale.sample_ticks = Rational(1);
  const FrequencyCourse course =
      follow_frequency(EdgeView(s.stretch), scale, serial_for);
  Trial t;
  t.any = !course.steps.empty();
  if (course.steps.size() == c.jumps.size()) compare(c, e, course.steps, t);
  for (const FrequencyPart& p : course.parts) {
    t.off |= std::abs(p.period_ticks - c.period) > p.most_off_ticks;
  }
  if (!t.right || c.jumps.empty()) return t;
  const EdgeView last(s.stretch, course.steps.back().after, s.stretch.last);
  const auto clock = estimate_clock(last, scale, serial_for);
  if (!clock) return t;
  const double truth =
      1.0 / (c.period * (1.0 - 1e-6 * ppm_after(c.jumps, 1.0)));
  t.covered = std::abs(clock->frequency.frequency.value() - truth) <=
              clock->frequency.half_width.value();
  return t;
}

std::string text(const char* format, double a, double b = 0.0, double c = 0.0) {
  char buffer[80];
  std::snprintf(buffer, sizeof buffer, format, a, b, c);
  return buffer;
}

void add_constant(std::vector<Case>& cases) {
  for (double period : {kGolden, 40.0, 40.00004, 40.0002, 40.002, 20.50001,
                        8.38, 4.0002, 3.3334}) {
    for (double sigma : {0.0, 0.03, 0.1, 0.3, 1.0, 3.0}) {
      if (sigma > period / 8.0) continue;
      for (std::size_t cycles : {200u, 2000u, 16384u}) {
        Case c;
        c.name = text("constant P=%.9g s=%g n=%g", period, sigma,
                      static_cast<double>(cycles));
        c.period = period;
        c.sigma = sigma;
        c.cycles = cycles;
        cases.push_back(c);
      }
    }
  }
}

void add_noise(std::vector<Case>& cases) {
  constexpr const char* kNames[] = {"", "flicker PM", "white FM", "flicker FM",
                                    "walk FM"};
  for (double period : {kGolden, 40.0002}) {
    for (int kind = 1; kind <= 4; ++kind) {
      for (double rms : {0.03, 0.1, 0.3, 1.0, 10.0}) {
        Case c;
        c.name = kNames[kind] + text(" rms=%g P=%g", rms, period);
        c.period = period;
        c.noise = static_cast<PowerLaw>(kind);
        c.rms = rms;
        cases.push_back(c);
      }
    }
  }
}

void add_drift(double sigma, std::vector<Case>& cases) {
  const auto add = [&](std::string name, std::function<double(double)> drift) {
    Case c;
    c.name = std::move(name);
    c.sigma = sigma;
    c.drift = std::move(drift);
    cases.push_back(std::move(c));
  };
  for (double ppm : {1.0, 5.0, 20.0, 100.0, 1000.0}) {
    add(text("drift %g s=%g", ppm, sigma), [ppm](double u) { return ppm * u; });
  }
  for (double tau : {0.003, 0.01, 0.03, 0.1, 0.3}) {
    for (double ppm : {3.0, 10.0, 100.0, 1e4}) {
      add(text("settling %g tau=%g s=%g", ppm, tau, sigma),
          [=](double u) { return ppm * std::exp(-u / tau); });
    }
  }
  for (double ppm : {10.0, 100.0, 5000.0}) {
    for (double sweeps : {0.7, 1.3, 3.0, 30.0}) {
      add(text("spread %g sweeps=%g s=%g", ppm, sweeps, sigma), [=](double u) {
        const double phase = u * sweeps - std::floor(u * sweeps);
        return ppm * std::abs(2.0 * phase - 1.0);
      });
    }
  }
}

void add_steps(double sigma, std::vector<Case>& cases) {
  const auto add = [&](std::string name, std::vector<FrequencyJump> jumps,
                       double period = kGolden) {
    Case c;
    c.name = std::move(name);
    c.sigma = sigma;
    c.period = period;
    c.jumps = std::move(jumps);
    cases.push_back(std::move(c));
  };
  for (double ppm : {2.0, 5.0, 10.0, 20.0, 50.0, 100.0, 1e3, 1e4, 1e5}) {
    add(text("step %g s=%g", ppm, sigma), {{0.5, ppm}});
  }
  for (double at : {0.01, 0.05, 0.1, 0.2, 0.9, 0.98}) {
    for (double ppm : {100.0, 1e4}) {
      add(text("step %g at %g s=%g", ppm, at, sigma), {{at, ppm}});
    }
  }
  add(text("step +100 -50 s=%g", sigma), {{0.3, 100.0}, {0.6, -50.0}});
  add(text("step +100 -100 s=%g", sigma), {{0.3, 100.0}, {0.6, -100.0}});
  add(text("step three s=%g", sigma),
      {{0.01, 2e4}, {0.1, 300.0}, {0.6, -100.0}});
  add(text("step 100 locked s=%g", sigma), {{0.5, 100.0}}, 40.0);
  add(text("step 20 nearly locked s=%g", sigma), {{0.5, 20.0}}, 40.0002);
}

void add_steps_in_noise(std::vector<Case>& cases) {
  for (double rms : {0.1, 0.3, 1.0}) {
    Case c;
    c.name = text("step 100 white FM rms=%g", rms);
    c.jumps = {{0.5, 100.0}};
    c.noise = PowerLaw::kWhiteFrequency;
    c.rms = rms;
    cases.push_back(c);
  }
}

std::vector<Trial> trials_of_case(const Case& c, std::size_t seed,
                                  std::size_t count) {
  return trials_of(count, [&](std::size_t t) {
    std::seed_seq seeds{seed, t, c.cycles, std::hash<std::string>{}(c.name)};
    std::mt19937_64 random(seeds);
    return run(c, random);
  });
}

void print_case(const Case& c, const std::vector<Trial>& trials) {
  double any = 0.0, right = 0.0, contained = 0.0, covered = 0.0, off = 0.0;
  std::vector<double> distances;
  for (const Trial& t : trials) {
    any += t.any;
    off += t.off;
    if (!t.right) continue;
    right += 1.0;
    contained += t.contained;
    covered += t.covered;
    distances.push_back(t.distance);
  }
  const auto n = static_cast<double>(trials.size());
  std::printf("%-36s any %.3f", c.name.c_str(), any / n);
  if (c.jumps.empty()) {
    std::printf("  off %.3f\n", off / n);
  } else if (right > 0.0) {
    std::sort(distances.begin(), distances.end());
    std::printf("  right %.3f  %7.2f cycles  contained %.3f  covered %.3f\n",
                right / n, distances[distances.size() / 2], contained / right,
                covered / right);
  } else {
    std::printf("  right 0\n");
  }
  std::fflush(stdout);
}

}  // namespace

int main(int argc, char** argv) {
  const auto argument = [&](int i, std::size_t otherwise) {
    return i < argc ? std::strtoull(argv[i], nullptr, 10) : otherwise;
  };
  const std::size_t seed = argument(1, 1), count = argument(2, 200);
  const std::string part = argc > 3 ? argv[3] : "";
  std::vector<Case> cases;
  add_constant(cases);
  add_noise(cases);
  for (double sigma : {0.1, 1.0}) add_drift(sigma, cases);
  for (double sigma : {0.0, 0.1, 1.0, 3.0}) add_steps(sigma, cases);
  add_steps_in_noise(cases);
  std::printf("seed %zu, %zu trials\n", seed, count);
  for (const Case& c : cases) {
    if (c.name.find(part) == std::string::npos) continue;
    print_case(c, trials_of_case(c, seed, count));
  }
}
