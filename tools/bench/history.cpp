// SPDX-License-Identifier: GPL-3.0-or-later
// Steps found in histories of 60 builds: in clean ones, which must be as few as
// asked for, and where the level moves by 3 ppm, and where it is found then.
//   history [HISTORIES]       default 1000
// Exits 1 where the alarms in histories of independent values are outside the
// binomial band at four deviations.
#include <cmath>
#include <cstddef>
#include <cstdio>
#include <cstdlib>
#include <random>
#include <string>
#include <vector>

#include "clockassay/history/level_shifts.h"

using namespace clockassay;

namespace {

constexpr std::size_t kBuilds = 60;
constexpr std::size_t kStep = 37;
constexpr double kStepPpm = 3.0;
constexpr unsigned kSeed = 11;

struct Noise {
  const char* name;
  bool is_heavy;       // Student's t of three degrees of freedom
  double correlation;  // of neighbours
  double sigma_ppm;
};

std::vector<double> history(const Noise& noise, std::mt19937_64& random) {
  std::normal_distribution<double> normal;
  std::student_t_distribution<double> student(3.0);
  std::vector<double> values;
  double kept = 0.0;
  for (std::size_t i = 0; i < kBuilds; ++i) {
    const double fresh = noise.is_heavy ? student(random) : normal(random);
    kept = noise.correlation * kept +
           std::sqrt(1.0 - noise.correlation * noise.correlation) * fresh;
    values.push_back(noise.sigma_ppm * kept);
  }
  return values;
}

struct Count {
  std::size_t alarms = 0, found = 0, exact = 0, held = 0;
};

Count count(const Noise& noise, std::size_t histories) {
  std::mt19937_64 random(kSeed);
  Count c;
  for (std::size_t i = 0; i < histories; ++i) {
    std::vector<double> values = history(noise, random);
    c.alarms += !find_level_shifts(values).empty();
    for (std::size_t j = kStep; j < kBuilds; ++j) values[j] += kStepPpm;
    for (const LevelShift& s : find_level_shifts(values)) {
      const double off =
          std::abs(static_cast<double>(s.first) - static_cast<double>(kStep));
      if (off > 2.0) continue;
      ++c.found;
      c.exact += off == 0.0;
      c.held += std::abs(s.after - s.before - kStepPpm) <= s.expanded;
      break;
    }
  }
  return c;
}

}  // namespace

int main(int argc, char** argv) {
  const std::size_t histories =
      argc > 1 ? std::strtoul(argv[1], nullptr, 10) : 1000;
  const Noise noises[] = {{"normal, 1 ppm", false, 0.0, 1.0},
                          {"normal, 2 ppm", false, 0.0, 2.0},
                          {"heavy tails, 1 ppm", true, 0.0, 1.0},
                          {"neighbours alike by 0.3, 1 ppm", false, 0.3, 1.0}};
  std::printf(
      "%zu histories each, %zu builds, a step of %.0f ppm at build %zu, "
      "seed %u\n\n| scatter | alarms in clean ones | step found within "
      "two builds | at the build | its size within U |\n"
      "|---|---|---|---|---|\n",
      histories, kBuilds, kStepPpm, kStep + 1, kSeed);
  bool is_right = true;
  for (const Noise& noise : noises) {
    const Count c = count(noise, histories);
    std::printf("| %s | %zu | %zu | %zu | %zu |\n", noise.name, c.alarms,
                c.found, c.exact, c.held);
    const auto n = static_cast<double>(histories);
    const double asked = ShiftOptions{}.alarms;
    const double band = 4.0 * std::sqrt(n * asked * (1.0 - asked));
    if (noise.correlation == 0.0) {
      is_right = is_right &&
                 std::abs(static_cast<double>(c.alarms) - n * asked) <= band;
    }
  }
  std::printf("\n%s\n", is_right ? "within the band" : "OUTSIDE the band");
  return is_right ? EXIT_SUCCESS : EXIT_FAILURE;
}
