// SPDX-License-Identifier: GPL-3.0-or-later
#include <doctest/doctest.h>

#include <cmath>
#include <cstdint>
#include <map>
#include <random>
#include <string>

#include "support/common_timebase.h"
#include "support/ratio_trial.h"

using namespace clockassay;

namespace {

struct Pair {
  const char* name;
  double clock;  ///< samples a period
  double reference;
  double length;  ///< samples
};
constexpr Pair kPairs[] = {
    {"apart", 83.381966, 99.618034, 1.5e5},
    {"reference locked", 83.381966, 100.0, 1.5e5},
    {"equal", 83.381966, 83.381966 * (1.0 + 4e-6), 1.5e5},
    {"clock slower", 1051.7578, 99.618034, 1.5e5},
    {"60 pulses", 83.381966, 5000.0 * (1.0 + 12.3e-6), 3.01e5},
};
struct Course {
  TimebaseCourse course;
  double size;  ///< samples
};
constexpr Course kCourses[] = {
    {TimebaseCourse::kSteady, 0.0},    {TimebaseCourse::kLinear, 20.0},
    {TimebaseCourse::kQuadratic, 5.0}, {TimebaseCourse::kSlowSine, 3.0},
    {TimebaseCourse::kFastSine, 5.0},  {TimebaseCourse::kWalk, 20.0},
};
constexpr double kSigmas[] = {0.0, 0.3, 1.5};
constexpr int kTrials = 16;

struct Tally {
  int trials = 0;
  int covered = 0;
};

/// Whether the 95 % half-width of one simulated pair contains the truth.
bool covers(const Pair& pair, double sigma, const Course& course,
            std::mt19937_64& random) {
  std::uniform_real_distribution<double> near(-1e-4, 1e-4);
  const double period = pair.clock * (1.0 + near(random));
  const auto error =
      time_error(course.course, pair.length, course.size, random);
  const SampledEdges a =
      see_clock({period, 0.5, sigma}, pair.length, error, random);
  const SampledEdges b =
      see_clock({pair.reference, 0.5, sigma}, pair.length, error, random);
  const auto ratio = seen_ratio(a, b);
  REQUIRE(ratio);
  return std::abs(ratio->value / (pair.reference / period) - 1.0) <=
         half_width_of(*ratio);
}

/// The least of n that are covered at 95 %, but once in some 30 000 times: four
/// standard deviations.
double least(const Tally& t) {
  const double n = t.trials;
  return 0.95 * n - 4.0 * std::sqrt(n * 0.95 * 0.05);
}

TEST_CASE("relate_clocks: 95 % half-widths cover the truth, and not far more") {
  constexpr std::uint64_t kSeed = 41;
  CAPTURE(kSeed);
  std::mt19937_64 random(kSeed);
  std::map<std::string, Tally> by_pair, by_course, by_sigma;
  Tally jittered;
  for (const Pair& pair : kPairs) {
    for (const Course& course : kCourses) {
      for (const double sigma : kSigmas) {
        Tally cell;
        for (int i = 0; i < kTrials; ++i) {
          ++cell.trials;
          cell.covered += covers(pair, sigma, course, random);
        }
        const auto add = [&cell](Tally& t) {
          t.trials += cell.trials;
          t.covered += cell.covered;
        };
        add(by_pair[pair.name]);
        add(by_course[kTimebaseCourses[static_cast<int>(course.course)]]);
        add(by_sigma[std::to_string(sigma)]);
        if (sigma > 1.0) add(jittered);
      }
    }
  }
  for (const auto* tallies : {&by_pair, &by_course, &by_sigma}) {
    for (const auto& [name, tally] : *tallies) {
      const auto& which = name;
      CAPTURE(which);
      const auto& counted = tally;
      CAPTURE(counted.trials);
      CHECK(tally.covered >= least(tally));
    }
  }
  // With jitter that hides the samples nothing has to be wider than it is: of
  // 480 at 95 % more than 475 would be covered once in 30 000 times.
  CHECK(jittered.covered <= 475);
}

TEST_CASE("relate_clocks: many phases are few when hardly any edge scatters") {
  // A reference that meets ten phases in a time that hardly bends, and two
  // clocks far from simple fractions whose rates pass some in thirty-fourths:
  // what the first eight harmonics said of them held in 61 and 82 of 100.
  struct Case {
    Pair pair;
    Course course;
  };
  constexpr Case kCases[] = {
      {{"400 pulses", 83.381966, 817.3, 3.3e5},
       {TimebaseCourse::kQuadratic, 0.2}},
      {{"both apart", 83.381966, 99.618034, 3e5},
       {TimebaseCourse::kSlowSine, 0.2}},
  };
  constexpr std::uint64_t kSeed = 42;
  CAPTURE(kSeed);
  std::mt19937_64 random(kSeed);
  for (const Case& c : kCases) {
    CAPTURE(c.pair.name);
    Tally tally;
    while (tally.trials < 160) {
      ++tally.trials;
      tally.covered += covers(c.pair, 0.0, c.course, random);
    }
    CHECK(tally.covered >= least(tally));
  }
}

}  // namespace
