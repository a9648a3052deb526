// SPDX-License-Identifier: GPL-3.0-or-later
#include "clockassay/estimate/frequency_steps.h"

#include <doctest/doctest.h>

#include <cmath>
#include <string>

#include "support/moved_clock.h"
#include "support/power_law_noise.h"
#include "support/test_stretch.h"
#include "support/two_threads.h"

using namespace clockassay;

namespace {

constexpr double kGolden = 40.381966011250105;
constexpr std::size_t kCycles = 16384;
constexpr std::uint64_t kSeed = 20;

TickScale one_sample_a_tick() {
  TickScale scale;
  scale.sample_ticks = Rational(1);
  return scale;
}

FrequencyCourse course_of(const SampledEdges& e) {
  const TestStretch s = stretch_from_edges(e.rises, e.falls, 2048);
  return follow_frequency(EdgeView(s.stretch), one_sample_a_tick(), serial_for);
}

struct Clock {
  double period = kGolden;
  double sigma = 0.1;
  std::size_t cycles = kCycles;
};

SampledEdges edges_of(const Clock& c, const std::function<double(double)>& ppm,
                      std::mt19937_64& random) {
  return sample_edges(c.period, 0.43, c.sigma, c.cycles, random,
                      moved_edges(c.period, c.cycles, ppm));
}

/// Trials of `count` in which as many steps are found as there are, and each
/// lies between the edges that are named, give or take a cycle.
int located(const Clock& c, const std::vector<FrequencyJump>& jumps, int count,
            std::mt19937_64& random) {
  int right = 0;
  for (int trial = 0; trial < count; ++trial) {
    const SampledEdges e = edges_of(
        c, [&](double u) { return ppm_after(jumps, u); }, random);
    const auto steps = course_of(e).steps;
    bool all = steps.size() == jumps.size();
    for (std::size_t i = 0; all && i < jumps.size(); ++i) {
      const auto k = static_cast<std::size_t>(
          std::ceil(jumps[i].at * static_cast<double>(c.cycles)));
      all = steps[i].before.count() <= e.rises[k + 1] &&
            steps[i].after.count() >= e.rises[k - 1];
    }
    right += all;
  }
  return right;
}

int false_steps(const Clock& c, const std::function<double(double)>& ppm,
                int count, std::mt19937_64& random) {
  int found = 0;
  for (int trial = 0; trial < count; ++trial) {
    found += !course_of(edges_of(c, ppm, random)).steps.empty();
  }
  return found;
}

}  // namespace

TEST_CASE(
    "follow_frequency: a constant clock does not step, however it beats") {
  // By chance once in 1e4 or less; 240 clocks give one in 40 such tests.
  INFO("seed ", kSeed);
  std::mt19937_64 random(kSeed);
  for (double period : {kGolden, 40.0, 40.00004, 40.0002, 40.002, 20.50001}) {
    for (double sigma : {0.0, 0.1, 0.3, 1.0}) {
      for (std::size_t cycles : {300u, 3000u, 16384u}) {
        CAPTURE(period);
        CAPTURE(sigma);
        CAPTURE(cycles);
        CHECK(false_steps(
                  {period, sigma, cycles}, [](double) { return 0.0; }, 4,
                  random) == 0);
      }
    }
  }
}

TEST_CASE("follow_frequency: steps are found, and where they are") {
  // The place is an interval of three standard deviations: once in 400 it
  // misses. With at most three places in 10 trials that is 0.075 expected; more
  // than one has a probability below 0.003.
  const std::vector<std::vector<FrequencyJump>> cases = {
      {{0.5, 20.0}},
      {{0.5, 100.0}},
      {{0.5, 1e4}},
      {{0.37, 1e5}},
      {{0.1, 100.0}},
      {{0.05, 1000.0}},
      {{0.98, 1000.0}},
      {{0.3, 100.0}, {0.6, -50.0}},
      {{0.3, 100.0}, {0.6, -100.0}},
      {{0.01, 20000.0}, {0.1, 300.0}, {0.6, -100.0}}};
  INFO("seed ", kSeed);
  std::mt19937_64 random(kSeed);
  for (const auto& jumps : cases) {
    for (double sigma : {0.1, 1.0}) {
      CAPTURE(jumps.front().at);
      CAPTURE(jumps.front().ppm);
      CAPTURE(sigma);
      CHECK(located({kGolden, sigma, kCycles}, jumps, 10, random) >= 9);
    }
  }
}

TEST_CASE("follow_frequency: a step of a locked clock is within its beat") {
  // 40 samples exactly, then 100 ppm less: the phase takes 250 cycles to move
  // by the one sample that sampling hides.
  INFO("seed ", kSeed);
  std::mt19937_64 random(kSeed);
  for (double sigma : {0.0, 0.1}) {
    CAPTURE(sigma);
    CHECK(located({40.0, sigma, kCycles}, {{0.5, 100.0}}, 10, random) == 10);
  }
}

TEST_CASE("follow_frequency: drift, settling and spread spectrum do not step") {
  INFO("seed ", kSeed);
  std::mt19937_64 random(kSeed);
  for (double sigma : {0.1, 1.0}) {
    const Clock c{kGolden, sigma, kCycles};
    CAPTURE(sigma);
    for (double ppm : {5.0, 20.0, 1000.0}) {
      CAPTURE(ppm);
      CHECK(false_steps(
                c, [&](double u) { return ppm * u; }, 5, random) == 0);
    }
    for (double tau : {0.003, 0.01, 0.1, 0.3}) {
      for (double ppm : {10.0, 100.0, 1e4}) {
        CAPTURE(tau);
        CAPTURE(ppm);
        const auto settling = [&](double u) {
          return ppm * std::exp(-u / tau);
        };
        CHECK(false_steps(c, settling, 3, random) == 0);
      }
    }
    for (double sweeps : {3.0, 30.0}) {
      const auto spread = [&](double u) {
        return 5000.0 *
               std::abs(2.0 * (u * sweeps - std::floor(u * sweeps)) - 1.0);
      };
      CHECK(false_steps(c, spread, 5, random) == 0);
    }
  }
}

TEST_CASE("follow_frequency: noise of the frequency seldom looks like a step") {
  // 5 of 100 at most. Over 60 captures of each kind a binomial of that
  // probability exceeds 8 once in 500 times.
  constexpr int kTrials = 20;
  INFO("seed ", kSeed);
  std::mt19937_64 random(kSeed);
  for (PowerLaw kind :
       {PowerLaw::kFlickerPhase, PowerLaw::kWhiteFrequency,
        PowerLaw::kFlickerFrequency, PowerLaw::kWalkFrequency}) {
    int found = 0;
    for (double rms : {0.1, 1.0, 10.0}) {
      for (int trial = 0; trial < kTrials; ++trial) {
        const auto moved = power_law_noise(kind, 2 * 4096 + 2, rms, random);
        found +=
            !course_of(sample_edges(kGolden, 0.43, 0.1, 4096, random, moved))
                 .steps.empty();
      }
    }
    CAPTURE(static_cast<int>(kind));
    CHECK(found <= 8);
  }
}

TEST_CASE("follow_frequency: the same bits for any blocks and threads") {
  INFO("seed ", kSeed);
  std::mt19937_64 random(kSeed);
  const SampledEdges e = edges_of(
      {kGolden, 0.3, 5000}, [](double u) { return u < 0.4 ? 0 : 300; }, random);
  const TestStretch whole = stretch_from_edges(e.rises, e.falls, 2048);
  const FrequencyCourse expected = follow_frequency(
      EdgeView(whole.stretch), one_sample_a_tick(), serial_for);
  REQUIRE(expected.steps.size() == 1);
  for (std::size_t block : {1u, 7u, 300u}) {
    const TestStretch s = stretch_from_edges(e.rises, e.falls, block);
    const FrequencyCourse other =
        follow_frequency(EdgeView(s.stretch), one_sample_a_tick(), two_threads);
    REQUIRE(other.steps.size() == 1);
    CHECK(other.steps[0].before == expected.steps[0].before);
    CHECK(other.steps[0].after == expected.steps[0].after);
    REQUIRE(other.parts.size() == expected.parts.size());
    for (std::size_t i = 0; i < other.parts.size(); ++i) {
      CHECK(other.parts[i].period_ticks == expected.parts[i].period_ticks);
    }
  }
}

TEST_CASE("follow_frequency: parts follow the frequency within their claim") {
  // Settling by 1000 ppm: the mean over a part is between the frequencies at
  // its ends; the claim holds for all but one in a million parts.
  INFO("seed ", kSeed);
  std::mt19937_64 random(kSeed);
  const auto ppm = [](double u) { return 1000.0 * std::exp(-u / 0.1); };
  for (double period : {kGolden, 40.0}) {
    const SampledEdges e = edges_of({period, 0.1, kCycles}, ppm, random);
    const FrequencyCourse course = course_of(e);
    REQUIRE(course.parts.size() > 200);
    const auto length = static_cast<double>(e.rises.back() - e.rises.front());
    const auto period_at = [&](Ticks t) {
      const double u =
          static_cast<double>((t - Ticks(e.rises.front())).count()) / length;
      return period * (1.0 - 1e-6 * ppm(u));
    };
    double finest = period;
    for (const FrequencyPart& p : course.parts) {
      CHECK(p.period_ticks + p.most_off_ticks > period_at(p.from));
      CHECK(p.period_ticks - p.most_off_ticks < period_at(p.to));
      finest = std::min(finest, p.most_off_ticks);
    }
    // Half of the edges: 1.5 / 8192 where sampling does its worst.
    CHECK(finest <= 2.0 / 8192.0);
  }
}

TEST_CASE("follow_frequency: a few edges show nothing") {
  std::mt19937_64 random(kSeed);
  const SampledEdges e = sample_edges(kGolden, 0.43, 0.1, 100, random);
  const FrequencyCourse course = course_of(e);
  CHECK(course.steps.empty());
  CHECK(course.parts.empty());
}
