// SPDX-License-Identifier: GPL-3.0-or-later
#include "clockassay/estimate/tie_spectrum.h"

#include <doctest/doctest.h>

#include <algorithm>
#include <cmath>
#include <numbers>
#include <random>
#include <vector>

#include "clockassay/edges/numbering.h"
#include "support/approx.h"
#include "support/power_law_noise.h"
#include "support/spectrum_trial.h"
#include "support/test_channel.h"
#include "support/two_threads.h"

using namespace clockassay;

namespace {

constexpr double kPi = std::numbers::pi;
constexpr double kGolden = 40.381966011250105;  // far from all fractions

std::function<double(double)> sine(double amplitude, double turns_a_sample,
                                   double phase = 0.0) {
  return [=](double t) {
    return amplitude * std::sin(2.0 * kPi * turns_a_sample * t + phase);
  };
}

TieSpectrum spectrum(const TestStretch& s, double sample_s = 1e-8,
                     const TieSpectrumOptions& options = {}) {
  const auto found = spectrum_of(EdgeView(s.stretch), sample_s, options);
  REQUIRE(found);
  return *found;
}

TieSpectrum quick_spectrum(const TestStretch& s, double sample_s = 1e-8,
                           const TieSpectrumOptions& options = {}) {
  const auto found =
      spectrum_about_line(EdgeView(s.stretch), sample_s, options);
  REQUIRE(found);
  return *found;
}

/// The time-interval error of a frequency that goes from low to high and back
/// along straight lines, `rate` turns a sample. In samples.
std::function<double(double)> triangle(double depth, double rate) {
  return [=](double t) {
    double u = t * rate;
    u -= std::floor(u);
    // Relative frequency -depth/2 at 0, depth/2 at 1/2: integrated, and later
    // where it was lower.
    const double v = u - 0.5;
    const double ahead =
        u < 0.5 ? depth * (u * u - 0.5 * u) : depth * (0.5 * v - v * v);
    return -ahead / rate;
  };
}

}  // namespace

TEST_CASE("tie_spectrum: white jitter is a floor of its level, and no spur") {
  constexpr std::uint64_t kSeed = 31;
  INFO("seed ", kSeed);
  std::mt19937_64 random(kSeed);
  const double sample_s = 1e-8, sigma = 1.5;
  const TieSpectrum s =
      spectrum(sample_clock({kGolden, sigma, 60'000}, random), sample_s);
  // Two variances over the rate; sampling adds 1/12. The median of 2000 bins
  // or more of sixteen averages is known to 1 %, the variance of 60 000 to
  // 0.6 %; four times their root of squares.
  const double rms = sample_s * std::sqrt(sigma * sigma + 1.0 / 12.0);
  const double level = 2.0 * rms * rms * kGolden * sample_s;
  CHECK(s.floor == testing::approx(level).epsilon(0.05));
  CHECK(s.floor_rms.value() == testing::approx(rms).epsilon(0.025));
  CHECK(s.spurs.empty());
  CHECK_FALSE(s.spread);
  CHECK_FALSE(s.coarse);
  CHECK(s.lost_cycles == 0);
  // 60 001 cycles: 14 segments of 8192 are too few, 4096 it is.
  CHECK(s.fine.segment == 4096);
  CHECK(s.fine.segments == 28);
  const double bin = 1.0 / (kGolden * sample_s) / 4096.0;
  CHECK(s.fine.resolution.value() ==
        testing::approx(2.0044 * bin).epsilon(3e-5));
  CHECK(s.fine.from.value() == testing::approx(4.0 * bin).epsilon(1e-6));
  CHECK(s.fine.to.value() == testing::approx(2048.0 * bin).epsilon(1e-6));
  CHECK(s.searched_from.value() == testing::approx(8.0 * bin).epsilon(1e-6));
  REQUIRE(s.bands.size() > 400);
  CHECK(s.bands.size() <= 1001);
  for (std::size_t i = 0; i < s.bands.size(); ++i) {
    CHECK(s.bands[i].mean <= s.bands[i].most);
    if (i > 0) CHECK(s.bands[i - 1].frequency < s.bands[i].frequency);
  }
}

TEST_CASE("tie_spectrum: a sinusoid lies within its uncertainties as often") {
  // Frequency and amplitude of 200 captures; 95 % within 1.96 of what is said.
  // Binomial, at 0.1 % each way: 179 … 198 of 200. All are faster than a
  // sixteenth of the clock: no spread.
  constexpr int kTrials = 200;
  int frequency_within = 0, amplitude_within = 0;
  for (std::uint64_t seed = 1; seed <= kTrials; ++seed) {
    CAPTURE(seed);
    std::mt19937_64 random(seed);
    std::uniform_real_distribution<double> uniform(0.0, 1.0);
    const double turns = (0.07 + 0.4 * uniform(random)) / kGolden;
    const double amplitude = 0.06 + 0.2 * uniform(random);
    const TieSpectrum s = quick_spectrum(sample_clock(
        {kGolden, 0.5, 40'000, sine(amplitude, turns, 6.3 * uniform(random))},
        random));
    REQUIRE(s.spurs.size() >= 1);
    const Spur& spur = s.spurs[0];
    frequency_within += std::abs(spur.frequency.value() - turns * 1e8) <=
                        1.96 * spur.frequency_uncertainty.value();
    amplitude_within += std::abs(spur.peak.value() - amplitude * 1e-8) <=
                        1.96 * spur.peak_uncertainty.value();
    CHECK(spur.rms.value() ==
          testing::approx(spur.peak.value() / std::sqrt(2.0)));
  }
  CHECK(frequency_within >= 179);
  CHECK(frequency_within <= 198);
  CHECK(amplitude_within >= 179);
  CHECK(amplitude_within <= 198);
}

TEST_CASE("tie_spectrum: -40 dBc at 100 kHz of 24 MHz at 500 MS/s is found") {
  // Amplitude of the time: one sideband of phase modulation by beta radians is
  // beta/2 of the carrier, beta = 2 pi f0 A (IEEE 1139, small angles).
  const double period = 500.0 / 24.0 * (1.0 + 20e-6);
  const double amplitude = 0.01 / (kPi * 24e6) * 500e6;  // samples
  for (const double sigma : {0.05, 0.25}) {
    const std::uint64_t trials = sigma < 0.1 ? 50 : 200;
    int found = 0, others = 0;
    for (std::uint64_t seed = 1; seed <= trials; ++seed) {
      std::mt19937_64 random(seed);
      const TieSpectrum s = quick_spectrum(
          sample_clock({period, sigma, 100'000, sine(amplitude, 1e5 / 500e6)},
                       random),
          2e-9);
      for (const Spur& spur : s.spurs) {
        const bool is_it = std::abs(spur.frequency.value() - 1e5) <
                               5.0 * spur.frequency_uncertainty.value() &&
                           std::abs(spur.sideband_dbc + 40.0) < 1.0;
        (is_it ? found : others) += 1;
      }
    }
    CAPTURE(sigma);
    CHECK(found >= static_cast<int>(trials) - 1);
    // 0.1 % of 200 captures: four or more once in 18 000.
    CHECK(others <= 3);
  }
}

TEST_CASE("tie_spectrum: clean captures show a spur no more often than said") {
  const auto alarms = [](double probability) {
    int with = 0;
    for (std::uint64_t seed = 1; seed <= 1000; ++seed) {
      std::mt19937_64 random(seed);
      TieSpectrumOptions options;
      options.most_false_alarms = probability;
      const TieSpectrum s = quick_spectrum(
          sample_clock({kGolden, 1.0, 3000}, random), 1e-8, options);
      with += !s.spurs.empty();
      CHECK_FALSE(s.spread);
    }
    return with;
  };
  // Poisson of mean 1: six or more once in 1700.
  CHECK(alarms(1e-3) <= 5);
  // Of mean 200 with a standard deviation of 13. Bins are not as independent as
  // is reckoned with, so that there are fewer; but not by far.
  const int fifth = alarms(0.2);
  CHECK(fifth <= 200 + 3 * 13);
  CHECK(fifth >= 20);
}

TEST_CASE("tie_spectrum: sampling makes images of a clean clock, no spurs") {
  struct Case {
    const char* name;
    double period;
    bool has_images;  // without jitter, that are not below the lowest bin
  };
  const Case cases[] = {
      {"golden", kGolden, true},
      {"40 + 5 ppm", 40.0 * (1.0 + 5e-6), false},
      {"40 + 0.5 ppm", 40.0 * (1.0 + 0.5e-6), false},
      {"40 + 500 ppm", 40.0 * (1.0 + 500e-6), true},
      {"10 1/3", 10.0 + 1.0 / 3.0 + 3e-5, true},
      {"20 1/2", 20.5 - 1e-4, true},
      {"20 5/6", 125.0 / 6.0 * (1.0 + 20e-6), true},
      {"7 2/5", 7.4 + 1e-6, true},
      {"40", 40.0, false},
  };
  int spurs = 0;
  for (const Case& c : cases) {
    for (const double sigma : {0.0, 0.003, 0.03, 0.1, 0.3}) {
      for (std::uint64_t seed = 1; seed <= 5; ++seed) {
        CAPTURE(c.name);
        CAPTURE(sigma);
        CAPTURE(seed);
        std::mt19937_64 random(seed);
        const TieSpectrum s =
            spectrum(sample_clock({c.period, sigma, 20'000}, random));
        CHECK(s.sampling_known);
        CHECK_FALSE(s.spread);
        spurs += static_cast<int>(s.spurs.size());
        if (sigma == 0.0) CHECK(s.sampling_images.empty() != c.has_images);
      }
    }
  }
  // 0.1 % of 225 captures: four or more once in 10 000.
  CHECK(spurs <= 3);
}

TEST_CASE(
    "tie_spectrum: the strongest image is where and what the sawtooth is") {
  // Harmonic 1 at frac(40.382) = 0.382 of the rate with 1/pi of a sample, or
  // exp(-2 pi² sigma²) of it.
  for (const double sigma : {0.0, 0.15}) {
    std::mt19937_64 random(3);
    const TieSpectrum s =
        spectrum(sample_clock({kGolden, sigma, 40'000}, random));
    REQUIRE_FALSE(s.sampling_images.empty());
    const SamplingImage& first = s.sampling_images[0];
    CHECK(first.harmonic == 1);
    CHECK(first.sideline == 0);
    const double rate = 1e8 / kGolden;
    CHECK(first.frequency.value() ==
          testing::approx((kGolden - 40.0) * rate).epsilon(1e-3));
    const double blur = std::exp(-2.0 * kPi * kPi * sigma * sigma);
    CHECK(first.peak.value() ==
          testing::approx(1e-8 / kPi * blur).epsilon(0.03));
  }
}

TEST_CASE("tie_spectrum: a clock that drifts takes its images along") {
  // The period goes from 1/500 of a sample below the mean to as much above: the
  // image of harmonic h is seen up to h/500 of the rate to either side, eight
  // bins and more of 4096, where the mean period has none.
  constexpr std::size_t kCycles = 40'000;
  constexpr double kMost = 0.002;
  int spurs = 0, images = 0;
  for (std::uint64_t seed = 1; seed <= 10; ++seed) {
    CAPTURE(seed);
    std::mt19937_64 random(seed);
    const auto drift = [](double t) {
      const double k = t / kGolden;
      return kMost * k * (k / kCycles - 1.0);
    };
    const TieSpectrum s =
        quick_spectrum(sample_clock({kGolden, 0.1, kCycles, drift}, random));
    spurs += static_cast<int>(s.spurs.size());
    images += static_cast<int>(s.sampling_images.size());
  }
  // 0.1 % of 10 captures: two or more once in 20 000.
  CHECK(spurs <= 1);
  CHECK(images >= 10);
}

TEST_CASE("tie_spectrum: sidelines that a spur gives images are no spurs") {
  // With little jitter they are as strong as the spur itself, but for noise:
  // it is the lowest. (z/2 - J1(z))/(z/2) = z²/8 is 3 % of 0.08 samples, 0.2 %
  // of 0.02. No multiple of 0.382 up to the thirteenth is so near a whole
  // number that a sideline is lower than 0.01 of the rate.
  for (const double amplitude : {0.02, 0.08}) {
    for (const double sigma : {0.0, 0.003, 0.03}) {
      for (std::uint64_t seed = 1; seed <= 5; ++seed) {
        CAPTURE(amplitude);
        CAPTURE(sigma);
        CAPTURE(seed);
        std::mt19937_64 random(seed);
        const TieSpectrum s = spectrum(sample_clock(
            {kGolden, sigma, 40'000, sine(amplitude, 0.01 / kGolden)}, random));
        REQUIRE(s.spurs.size() == 1);
        const double at = 0.01 * 1e8 / kGolden;
        CHECK(std::abs(s.spurs[0].frequency.value() - at) <
              5.0 * s.spurs[0].frequency_uncertainty.value());
        const auto sideline = std::find_if(
            s.sampling_images.begin(), s.sampling_images.end(),
            [](const SamplingImage& i) { return std::abs(i.sideline) == 1; });
        REQUIRE(sideline != s.sampling_images.end());
        CHECK(sideline->of == s.spurs[0].frequency);
      }
    }
  }
}

TEST_CASE("tie_spectrum: a spur at an image's place but larger is a spur") {
  // At 0.382 of the rate with half a sample: sampling makes 1/pi at most.
  std::mt19937_64 random(4);
  const TieSpectrum s = spectrum(sample_clock(
      {kGolden, 0.3, 40'000, sine(0.5, (kGolden - 40.0) / kGolden)}, random));
  REQUIRE_FALSE(s.spurs.empty());
  CHECK(s.spurs[0].peak.value() == testing::approx(0.5e-8).epsilon(0.1));
}

TEST_CASE("tie_spectrum: edges that alternate are a line at half the rate") {
  std::mt19937_64 random(5);
  const TieSpectrum s = spectrum(sample_clock(
      {kGolden, 0.3, 20'000,
       [](double t) {
         return std::fmod(std::round(t / kGolden), 2.0) == 0.0 ? 0.2 : -0.2;
       }},
      random));
  REQUIRE(s.spurs.size() == 1);
  CHECK(s.spurs[0].frequency.value() == testing::approx(0.5e8 / kGolden));
  CHECK(std::abs(s.spurs[0].peak.value() - 0.2e-8) <
        4.0 * s.spurs[0].peak_uncertainty.value() + 0.01e-8);
}

TEST_CASE(
    "tie_spectrum: a spread of 0.5 % at 31 kHz, triangular or sinusoidal") {
  const double period = 500.0 / 24.0 * (1.0 + 20e-6);
  const double rate = 31e3 / 500e6;
  for (std::uint64_t seed = 1; seed <= 10; ++seed) {
    CAPTURE(seed);
    std::mt19937_64 random(seed);
    const TieSpectrum s = spectrum(
        sample_clock({period, 0.2, 100'000, triangle(0.005, rate)}, random),
        2e-9);
    REQUIRE(s.spread);
    CHECK(s.spurs.empty());
    CHECK(s.spread->profile == SpreadProfile::kTriangle);
    CHECK(std::abs(s.spread->rate.value() - 31e3) <
          4.0 * s.spread->rate_uncertainty.value());
    CHECK(s.spread->rate_uncertainty.value() < 10.0);
    CHECK(std::abs(s.spread->depth.value() - 5000.0) <
          4.0 * s.spread->depth_uncertainty.value());
    CHECK(s.spread->depth_uncertainty.value() < 20.0);
    // 24 MHz less 20 ppm, give or take 0.25 %.
    CHECK(s.spread->lowest.value() ==
          testing::approx(23.93952e6).epsilon(2e-5));
    CHECK(s.spread->highest.value() ==
          testing::approx(24.05952e6).epsilon(2e-5));

    // A sine of that depth: A = depth/(4 pi rate).
    const TieSpectrum other = spectrum(
        sample_clock(
            {period, 0.2, 100'000, sine(0.005 / (4 * kPi * rate), rate)},
            random),
        2e-9);
    REQUIRE(other.spread);
    CHECK(other.spread->profile == SpreadProfile::kSine);
    CHECK(std::abs(other.spread->depth.value() - 5000.0) <
          4.0 * other.spread->depth_uncertainty.value());
  }
}

TEST_CASE("tie_spectrum: where sampling is not known its lines are no spread") {
  // 40 samples and 1/40 more: without jitter a sawtooth of a sample at 62 kHz,
  // 2/pi of a sample from peak to peak in its fundamental, which as a frequency
  // would move by 2500 ppm.
  std::mt19937_64 random(10);
  const double period = 40.025;
  const TestStretch clean = sample_clock({period, 0.0, 40'000}, random);
  TieSpectrumInput input;
  input.period_ticks = period;
  input.tick_s = 1e-8;
  input.window_ticks = 1.0;
  const auto s = tie_spectrum(EdgeView(clean.stretch), input, {}, serial_for);
  REQUIRE(s);
  CHECK_FALSE(s->sampling_known);
  CHECK(s->sampling_images.empty());
  CHECK_FALSE(s->spread);
  CHECK(s->spurs.empty());
  REQUIRE_FALSE(s->unsorted.empty());
  CHECK(s->unsorted[0].peak.value() ==
        testing::approx(1e-8 / kPi).epsilon(0.01));
  // A spread of 1 % moves edges by 3.3 times what sampling may.
  const double rate = 31e3 / 1e8;
  std::mt19937_64 again(10);
  const TestStretch spread =
      sample_clock({period, 0.0, 40'000, triangle(0.01, rate)}, again);
  const auto moved =
      tie_spectrum(EdgeView(spread.stretch), input, {}, serial_for);
  REQUIRE(moved);
  REQUIRE(moved->spread);
  CHECK(std::abs(moved->spread->rate.value() - 31e3) <
        4.0 * moved->spread->rate_uncertainty.value());
  // Its harmonics may be those of sampling: its profile is not seen.
  CHECK(moved->spread->profile == SpreadProfile::kNotSeen);
  CHECK(std::abs(moved->spread->depth.value() - 10'000.0) <
        2.0 * moved->spread->depth_uncertainty.value());
}

TEST_CASE("tie_spectrum: what is faster than a spread, or less, is a spur") {
  // 1 ns at 3.1 MHz of 12 MHz: 39 000 ppm, but no spread.
  const double period = 500.0 / 12.0003;
  const double at = 3.1e6 / 500e6;
  for (std::uint64_t seed = 1; seed <= 5; ++seed) {
    CAPTURE(seed);
    std::mt19937_64 random(seed);
    const TieSpectrum s = spectrum(
        sample_clock({period, 0.0025, 30'000, sine(0.5, at)}, random), 2e-9);
    CHECK_FALSE(s.spread);
    REQUIRE_FALSE(s.spurs.empty());
    CHECK(s.spurs[0].peak.value() == testing::approx(1e-9).epsilon(0.05));
    // 500 ppm at 31 kHz.
    const TieSpectrum weak = spectrum(
        sample_clock({period, 0.0025, 100'000,
                      sine(0.0005 / (4 * kPi * 31e3 / 500e6), 31e3 / 500e6)},
                     random),
        2e-9);
    CHECK_FALSE(weak.spread);
    REQUIRE_FALSE(weak.spurs.empty());
  }
}

TEST_CASE("tie_spectrum: a fast, weak spread is one, however coarse samples") {
  // 0.25 % at 110 kHz: 1.8 ns, less than three times the 2.9 ns rms of 10 ns.
  for (std::uint64_t seed = 1; seed <= 5; ++seed) {
    CAPTURE(seed);
    std::mt19937_64 random(seed);
    const TieSpectrum s = spectrum(sample_clock(
        {kGolden, 0.001, 60'000, triangle(0.0025, 110e3 / 100e6)}, random));
    REQUIRE(s.spread);
    CHECK(std::abs(s.spread->depth.value() - 2500.0) <
          4.0 * s.spread->depth_uncertainty.value());
  }
}

TEST_CASE("tie_spectrum: a spread with cusps is as deep as its harmonics say") {
  // 0.55 and 0.45 of its cube of a triangle, 1 % at 32 kHz of 24 MHz: 0.653 of
  // it is the fundamental's.
  const double period = 500.0 / 24.0 * (1.0 + 20e-6);
  const double rate = 32e3 / 500e6;
  const auto slope = [](double turns) {
    const double u = turns - std::floor(turns);
    const double t = u < 0.5 ? 4.0 * u - 1.0 : 3.0 - 4.0 * u;
    return 0.55 * t + 0.45 * t * t * t;
  };
  // The integral of half a percent of it, by steps of 1/1000 of a turn.
  std::vector<double> moved(1001, 0.0);
  for (std::size_t i = 1; i < moved.size(); ++i) {
    moved[i] =
        moved[i - 1] +
        0.005 * slope((static_cast<double>(i) - 0.5) / 1000.0) / 1000.0 / rate;
  }
  for (std::uint64_t seed = 1; seed <= 5; ++seed) {
    CAPTURE(seed);
    std::mt19937_64 random(seed);
    const TieSpectrum s = spectrum(
        sample_clock({period, 0.003, 100'000,
                      [&](double t) {
                        const double u = t * rate - std::floor(t * rate);
                        return moved[static_cast<std::size_t>(u * 1000.0)];
                      }},
                     random),
        2e-9);
    REQUIRE(s.spread);
    CHECK(s.spread->profile == SpreadProfile::kOther);
    // Harmonics beyond the last one seen are known to a few percent.
    CHECK(s.spread->depth.value() == testing::approx(10'000.0).epsilon(0.08));
    CHECK(std::abs(s.spread->depth.value() - 10'000.0) <
          1.96 * s.spread->depth_uncertainty.value());
  }
}

TEST_CASE("tie_spectrum: without a sample rate no line is a spur") {
  for (std::uint64_t seed = 1; seed <= 5; ++seed) {
    CAPTURE(seed);
    std::mt19937_64 random(seed);
    const TestStretch clock = sample_clock({kGolden, 0.003, 20'000}, random);
    const auto s = spectrum_of_unknown(EdgeView(clock.stretch), 1e-8);
    REQUIRE(s);
    CHECK_FALSE(s->sampling_known);
    CHECK(s->spurs.empty());
    CHECK_FALSE(s->spread);
    CHECK_FALSE(s->unsorted.empty());
  }
}

TEST_CASE("tie_spectrum: images of a clock that wanders are no spurs") {
  // Every period 30 ps for itself: white noise of the frequency, which
  // broadens the images of 24 MHz at 500 MS/s to some bins.
  constexpr std::size_t kCycles = 50'000;
  for (std::uint64_t seed = 1; seed <= 20; ++seed) {
    CAPTURE(seed);
    std::mt19937_64 random(seed);
    std::normal_distribution<double> half(0.0, 0.015 / std::numbers::sqrt2);
    std::vector<double> moved(2 * (kCycles + 1));
    for (std::size_t i = 1; i < moved.size(); ++i) {
      moved[i] = moved[i - 1] + half(random);
    }
    const SampledEdges e = sample_edges(500.0 / 24.0 * (1.0 + 3e-5), 0.5, 0.0,
                                        kCycles, random, moved);
    const TestStretch s = stretch_from_edges(e.rises, e.falls, 2048);
    const auto found = spectrum_of(EdgeView(s.stretch), 2e-9);
    REQUIRE(found);
    CHECK(found->spurs.empty());
    CHECK_FALSE(found->spread);
  }
}

TEST_CASE("tie_spectrum: images between bursts of jitter are no spurs") {
  // Quiet but for one part in eight, where jitter is of three samples.
  constexpr std::size_t kCycles = 50'000;
  for (std::uint64_t seed = 1; seed <= 10; ++seed) {
    CAPTURE(seed);
    std::mt19937_64 random(seed);
    std::normal_distribution<double> normal(0.0, 3.0);
    std::uniform_real_distribution<double> gate(0.0, 1.0);
    std::vector<double> moved(2 * (kCycles + 1));
    for (std::size_t from = 0; from < moved.size(); from += 500) {
      if (gate(random) > 0.125) continue;
      for (std::size_t i = from; i < std::min(from + 500, moved.size()); ++i) {
        moved[i] = normal(random);
      }
    }
    const SampledEdges e =
        sample_edges(kGolden, 0.5, 0.0, kCycles, random, moved);
    const TestStretch s = stretch_from_edges(e.rises, e.falls, 2048);
    const auto found = spectrum_of(EdgeView(s.stretch), 1e-8);
    REQUIRE(found);
    CHECK(found->spurs.empty());
  }
}

TEST_CASE("tie_spectrum: images of two spurs at once are no spurs") {
  for (std::uint64_t seed = 1; seed <= 10; ++seed) {
    CAPTURE(seed);
    std::mt19937_64 random(seed);
    std::uniform_real_distribution<double> uniform(0.1, 0.4);
    const double one = uniform(random) / kGolden;
    const double two = uniform(random) / kGolden;
    const TieSpectrum s =
        spectrum(sample_clock({kGolden, 0.0, 50'000,
                               [&](double t) {
                                 return 0.5 * std::sin(2.0 * kPi * one * t) +
                                        0.24 * std::sin(2.0 * kPi * two * t);
                               }},
                              random));
    CHECK(s.spurs.size() <= 2);
    CHECK(s.sampling_images.size() > 10);
  }
}

TEST_CASE("tie_spectrum: images that slow movement sweeps are no spurs") {
  // A sinusoid of three samples, some twenty turns in the whole capture, below
  // what lines are looked for.
  for (std::uint64_t seed = 1; seed <= 10; ++seed) {
    CAPTURE(seed);
    std::mt19937_64 random(seed);
    std::uniform_real_distribution<double> turns(2.0, 24.0);
    const double slow = turns(random) / 50'000.0 / kGolden;
    const TieSpectrum s = spectrum(
        sample_clock({kGolden, 0.05, 50'000, sine(3.0, slow)}, random));
    CHECK(s.spurs.empty());
    CHECK_FALSE(s.spread);
  }
}

TEST_CASE("tie_spectrum: a spread slower than lines are looked for is none") {
  // 1.2 % at 34 kHz of 29 MHz in 2 ms: its third harmonic is the first line.
  const double period = 34.1143, sample_s = 1.0 / 28.9673e6 / period;
  for (std::uint64_t seed = 1; seed <= 5; ++seed) {
    CAPTURE(seed);
    std::mt19937_64 random(seed);
    const TieSpectrum s = spectrum(
        sample_clock({period, 0.1, 60'000, triangle(0.01212, 34336 * sample_s)},
                     random),
        sample_s);
    CHECK(s.searched_from.value() > 34.4e3);
    CHECK_FALSE(s.spread);
  }
}

TEST_CASE("tie_spectrum: images at half the rate are no spurs") {
  // Second harmonics lie at half the rate but for some 0.01 %, with their
  // mirror images.
  for (const double samples : {100.0 / 16.0, 100.0 / 24.0}) {
    for (std::uint64_t seed = 1; seed <= 15; ++seed) {
      CAPTURE(samples);
      CAPTURE(seed);
      std::mt19937_64 random(seed);
      std::uniform_real_distribution<double> off(-5e-5, 5e-5);
      const double period = samples * (1.0 + off(random));
      const TieSpectrum s =
          spectrum(sample_clock({period, 0.002, 20'000}, random));
      CHECK(s.spurs.empty());
    }
  }
}

TEST_CASE("tie_spectrum: sidelines by what is slower than spurs are none") {
  // 0.25 % at 31 kHz of 12 MHz, 51 turns in all: searched from bin 8 on it is
  // not looked at, but its sidelines of the images are no spurs.
  for (std::uint64_t seed = 1; seed <= 10; ++seed) {
    CAPTURE(seed);
    std::mt19937_64 random(seed);
    std::uniform_real_distribution<double> off(-1e-4, 1e-4);
    const double period = 100.0 / 12.0 * (1.0 + off(random));
    const TieSpectrum s = spectrum(sample_clock(
        {period, 0.0005, 20'000, triangle(0.0025, 31e3 / 100e6)}, random));
    CHECK_FALSE(s.spread);
    for (const Spur& spur : s.spurs) {
      // A harmonic of the spread at most.
      const double turns = spur.frequency.value() / 31e3;
      CAPTURE(turns);
      CHECK(std::abs(turns - std::round(turns)) < 0.2);
      CHECK(turns < 10.0);
    }
  }
}

TEST_CASE("tie_spectrum: wander is no spread, whatever its power law") {
  constexpr std::size_t kCycles = 20'000;
  for (const PowerLaw kind :
       {PowerLaw::kFlickerPhase, PowerLaw::kWhiteFrequency,
        PowerLaw::kFlickerFrequency, PowerLaw::kWalkFrequency}) {
    int spurs = 0;
    for (std::uint64_t seed = 1; seed <= 25; ++seed) {
      // 1000 samples rms over 800 000: as an RC oscillator.
      for (const double rms : {3.0, 1000.0}) {
        CAPTURE(seed);
        std::mt19937_64 random(seed);
        const std::vector<double> moved =
            power_law_noise(kind, 2 * (kCycles + 1), rms, random);
        const SampledEdges e =
            sample_edges(kGolden, 0.5, 0.3, kCycles, random, moved);
        const TestStretch s = stretch_from_edges(e.rises, e.falls, 2048);
        const TieSpectrum found = quick_spectrum(s);
        CHECK_FALSE(found.spread);
        spurs += static_cast<int>(found.spurs.size());
      }
    }
    CAPTURE(static_cast<int>(kind));
    CHECK(spurs <= 2);  // of 50 captures, 0.1 % each
  }
}

TEST_CASE(
    "tie_spectrum: a long view shows low frequencies in means of cycles") {
  // Segments of 512; 40 001 cycles are 64 of them, and 8.5 segments of means of
  // eight.
  TieSpectrumOptions options;
  options.longest_segment = 512;
  const double slow = 0.006, fast = 0.31;  // of the rate
  std::mt19937_64 random(6);
  const SpectrumTrial trial{
      kGolden, 0.5, 40'000, [&](double t) {
        return 0.2 * std::sin(2.0 * kPi * slow * t / kGolden) +
               0.3 * std::sin(2.0 * kPi * fast * t / kGolden);
      }};
  const TieSpectrum s = spectrum(sample_clock(trial, random), 1e-8, options);
  REQUIRE(s.coarse);
  CHECK(s.coarse->cycles == 8);
  CHECK(s.coarse->segment == 512);
  CHECK(s.coarse->segments >= 16);
  CHECK(s.coarse->resolution.value() ==
        testing::approx(s.fine.resolution.value() / 8.0));
  CHECK(s.coarse->to == s.fine.from);
  const double rate = 1e8 / kGolden;
  CHECK(s.coarse->to.value() == testing::approx(rate / 64.0).epsilon(1e-6));
  REQUIRE(s.spurs.size() == 2);
  CHECK(std::abs(s.spurs[0].frequency.value() - fast * rate) <
        4.0 * s.spurs[0].frequency_uncertainty.value());
  CHECK(std::abs(s.spurs[1].frequency.value() - slow * rate) <
        4.0 * s.spurs[1].frequency_uncertainty.value());
  CHECK(std::abs(s.spurs[1].peak.value() - 0.2e-8) <
        4.0 * s.spurs[1].peak_uncertainty.value());
  // In the means the line is an eighth as wide.
  CHECK(s.spurs[1].frequency_uncertainty.value() <
        s.fine.resolution.value() / 100.0);
  // Both scales have one floor: white noise of means is as dense.
  double low = 0.0, high = 0.0;
  int lows = 0, highs = 0;
  for (const SpectrumBand& b : s.bands) {
    const double part = b.frequency.value() / rate;
    if (part > 0.008 && part < 0.015) low += b.mean, ++lows;
    if (part > 0.05 && part < 0.2) high += b.mean, ++highs;
  }
  // 50 bins or more of 17 averages, 2.6 of them one: 5 %, four times.
  CHECK(low / lows == testing::approx(high / highs).epsilon(0.2));
}

TEST_CASE("tie_spectrum: lost cycles are filled in and counted") {
  std::mt19937_64 random(7);
  std::normal_distribution<double> normal(0.0, 0.3);
  std::vector<std::int64_t> changes;
  std::int64_t lost = 0;
  for (std::int64_t k = 0; k < 20'000; ++k) {
    // One in 500 is lost, and 200 in a row.
    if (k % 500 == 250 || (k >= 9000 && k < 9200)) {
      ++lost;
      continue;
    }
    const double t = 1000.0 + kGolden * static_cast<double>(k) +
                     0.3 * std::sin(2.0 * kPi * 0.1 * static_cast<double>(k));
    changes.push_back(static_cast<std::int64_t>(std::ceil(t + normal(random))));
    changes.push_back(changes.back() + 20);
  }
  const TestChannel channel =
      channel_from_changes(changes, 0, changes.back() + 100);
  const EdgeStore store = number_cycles(channel.record, 1.0);
  REQUIRE(store.stretches.size() >= 1);
  // 200 periods of silence part the stretch.
  const EdgeView view(store.stretches.back());
  const auto s = spectrum_of(view, 1e-8);
  REQUIRE(s);
  CHECK(s->lost_cycles == store.stretches.back().missing);
  CHECK(s->lost_cycles > 15);
  CHECK(s->fine.left_out == 0);
  REQUIRE(s->spurs.size() == 1);
  CHECK(std::abs(s->spurs[0].peak.value() - 0.3e-8) <
        4.0 * s->spurs[0].peak_uncertainty.value() + 0.003e-8);
}

TEST_CASE("tie_spectrum: too few cycles are an error, no spectrum") {
  std::mt19937_64 random(8);
  const TestStretch few = sample_clock({kGolden, 0.3, 1086}, random);
  const auto none = spectrum_of(EdgeView(few.stretch), 1e-8);
  REQUIRE_FALSE(none);
  CHECK(none.error().code == ErrorCode::kTooFewEdges);
  CHECK(none.error().message ==
        "fewer than 1088 cycles: too few for a spectrum");
  const TestStretch enough = sample_clock({kGolden, 0.3, 1087}, random);
  CHECK(spectrum(enough).fine.segments == 16);
}

TEST_CASE("tie_spectrum: the same bits by two threads and any blocks") {
  std::mt19937_64 random(9);
  const SampledEdges e = sample_edges(kGolden, 0.5, 0.1, 50'000, random);
  const TestStretch a = stretch_from_edges(e.rises, e.falls, 2048);
  const TestStretch b = stretch_from_edges(e.rises, e.falls, 777);
  TieSpectrumOptions options;
  options.longest_segment = 512;
  const auto one = spectrum_of(EdgeView(a.stretch), 1e-8, options);
  const auto two = spectrum_of(EdgeView(a.stretch), 1e-8, options, two_threads);
  const auto other = spectrum_of(EdgeView(b.stretch), 1e-8, options);
  REQUIRE(one);
  REQUIRE(two);
  REQUIRE(other);
  for (const auto* s : {&*two, &*other}) {
    CHECK(s->floor == one->floor);
    REQUIRE(s->bands.size() == one->bands.size());
    for (std::size_t i = 0; i < s->bands.size(); ++i) {
      CHECK(s->bands[i].mean == one->bands[i].mean);
    }
    REQUIRE(s->sampling_images.size() == one->sampling_images.size());
    for (std::size_t i = 0; i < s->sampling_images.size(); ++i) {
      CHECK(s->sampling_images[i].peak == one->sampling_images[i].peak);
    }
  }
}
