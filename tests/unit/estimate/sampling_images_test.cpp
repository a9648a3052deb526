// SPDX-License-Identifier: GPL-3.0-or-later
#include "estimate/sampling_images.h"

#include <doctest/doctest.h>

#include <cmath>
#include <complex>
#include <cstdint>
#include <numbers>
#include <random>

#include "support/approx.h"
#include "support/spectrum_trial.h"

using namespace clockassay;

namespace {

constexpr double kPi = std::numbers::pi;
constexpr double kGolden = 40.381966011250105;  // far from all fractions

/// Amplitude of the line at so many turns a period in the error of edges that
/// are sampled, and written in steps of a text [samples].
double line_seen(double period, double text_steps, double jitter, double turns,
                 std::mt19937_64& random) {
  constexpr int kEdges = 200'000;
  std::normal_distribution<double> normal(0.0, 1.0);
  std::complex<double> sum;
  double weights = 0.0;
  for (int k = 0; k < kEdges; ++k) {
    const double t = 0.123 + period * k;
    const double sample = std::ceil(t + jitter * normal(random));
    const double written = std::round(sample * text_steps) / text_steps;
    // Hann: other lines leak less than 1e-6 from where they are.
    const double w = 1.0 - std::cos(2.0 * kPi * (k + 0.5) / kEdges);
    sum += w * (written - t - 0.5) * std::polar(1.0, -2.0 * kPi * turns * k);
    weights += w;
  }
  return 2.0 * std::abs(sum) / weights;
}

SpectralLine line_at(double frequency) {
  SpectralLine line;
  line.frequency = frequency;
  line.bin_hz = 1e-6;
  return line;
}

/// In hertz, of a clock of 1 Hz.
double folded(double turns) {
  return std::abs(turns - std::round(turns));
}

}  // namespace

TEST_CASE("SamplingImages: lines of samples that a text rounds are as seen") {
  constexpr std::uint64_t kSeed = 41;
  INFO("seed ", kSeed);
  std::mt19937_64 random(kSeed);
  struct Case {
    int text_harmonic;
    int harmonic;
  };
  // One of the samples alone, some of the text alone and of both. With 1.4394
  // steps a sample none of the others above a thousandth is there.
  const Case cases[] = {{0, 1}, {0, 3}, {1, 0}, {1, -1}, {1, -2}, {2, -3}};
  const double text_steps = 1009.0 / 701.0;
  for (const double jitter : {0.0, 0.2}) {
    SampledClock clock;
    clock.rate = 1.0;
    clock.samples = kGolden;
    clock.interval = 1.0;
    clock.text_steps = text_steps;
    clock.jitter = clock.likely_jitter = jitter;
    const SamplingImages images(clock, 0.001);
    for (const Case& c : cases) {
      CAPTURE(jitter);
      CAPTURE(c.text_harmonic);
      CAPTURE(c.harmonic);
      const double turns =
          kGolden * (c.text_harmonic * text_steps + c.harmonic);
      const auto found = images.explain(line_at(folded(turns)));
      CHECK(found.strongest.harmonic == c.harmonic);
      CHECK(found.strongest.text_harmonic == c.text_harmonic);
      CHECK(found.strongest.sideline == 0);
      // The sampler's and the text's scatter of half a sample, and so much of
      // jitter, of 200 000 edges under a window that leaves two thirds:
      // sqrt(4 0.3/(2/3 200 000)) = 0.003 at most, rms.
      const double seen = line_seen(kGolden, text_steps, jitter, turns, random);
      CHECK(std::abs(found.strongest_amplitude - seen) < 4.0 * 0.003);
      if (jitter == 0.0) {
        // No noise: what leaks from all other lines only.
        CHECK(found.strongest_amplitude == testing::approx(seen).epsilon(0.01));
      }
    }
  }
}

TEST_CASE("SamplingImages: text that says samples makes no line of its own") {
  // Two steps a sample: the times are whole ones. But for a constant, only
  // lines of the samples are left.
  SampledClock clock;
  clock.rate = 1.0;
  clock.samples = kGolden;
  clock.interval = 1.0;
  clock.text_steps = 2.0;
  const SamplingImages images(clock, 0.001);
  clock.text_steps = 0.0;
  const SamplingImages sampled(clock, 0.001);
  for (double f = 0.0025; f < 0.5; f += 0.001) {
    SpectralLine line = line_at(f);
    line.bin_hz = 0.0005;
    CHECK(images.explain(line).sum == sampled.explain(line).sum);
  }
}

TEST_CASE("tie_spectrum: text that rounds samples makes images, no spurs") {
  // Steps of the text in a sample: 600 MS/s and 800 MS/s in nanoseconds, and
  // no simple fraction. The beat of both is slower than either: 0.7 samples
  // of jitter leave some.
  const Rational kSteps[] = {*divide(Rational(5), Rational(3)),
                             *divide(Rational(5), Rational(4)),
                             *divide(Rational(1009), Rational(701))};
  int spurs = 0, images = 0;
  for (const Rational& steps : kSteps) {
    for (const double period : {kGolden, 20.5 - 1e-4, 125.0 / 6.0 * 1.00002}) {
      for (const double sigma : {0.0, 0.003, 0.03, 0.1, 0.3, 0.7}) {
        for (std::uint64_t seed = 1; seed <= 5; ++seed) {
          CAPTURE(steps.to_double());
          CAPTURE(period);
          CAPTURE(sigma);
          CAPTURE(seed);
          std::mt19937_64 random(seed);
          const TestStretch written =
              sample_clock({period, sigma, 20'000, {}, steps}, random);
          const auto s =
              spectrum_of_text(EdgeView(written.stretch), 1e-8, steps);
          REQUIRE(s);
          CHECK_FALSE(s->spread);
          spurs += static_cast<int>(s->spurs.size());
          for (const SamplingImage& image : s->sampling_images) {
            images += image.text_harmonic != 0 && image.harmonic != 0;
          }
        }
      }
    }
  }
  // 0.1 % of 270 captures: four or more once in 7000.
  CHECK(spurs <= 3);
  CHECK(images > 0);
}

TEST_CASE("tie_spectrum: under text that rounds a spur is found, and is one") {
  // Of the rate, where no image of a size is, and too fast for a spread.
  const double at = 0.0737;
  for (const Rational& steps : {*divide(Rational(5), Rational(3)),
                                *divide(Rational(1009), Rational(701))}) {
    for (std::uint64_t seed = 1; seed <= 10; ++seed) {
      CAPTURE(steps.to_double());
      CAPTURE(seed);
      std::mt19937_64 random(seed);
      const TestStretch written =
          sample_clock({kGolden, 0.5, 40'000,
                        [&](double t) {
                          return 0.3 * std::sin(2.0 * kPi * at * t / kGolden);
                        },
                        steps},
                       random);
      const auto s = spectrum_of_text(EdgeView(written.stretch), 1e-8, steps);
      REQUIRE(s);
      REQUIRE(s->spurs.size() == 1);
      CHECK(std::abs(s->spurs[0].frequency.value() - at * 1e8 / kGolden) <
            4.0 * s->spurs[0].frequency_uncertainty.value());
      CHECK(std::abs(s->spurs[0].peak.value() - 0.3e-8) <
            4.0 * s->spurs[0].peak_uncertainty.value());
    }
  }
}
