// SPDX-License-Identifier: GPL-3.0-or-later
#include "clockassay/capture/simulated_clock.h"

#include <doctest/doctest.h>

#include <algorithm>
#include <cmath>
#include <limits>
#include <string>
#include <vector>

namespace {

using clockassay::ErrorCode;
using clockassay::Int128;
using clockassay::Level;
using clockassay::Rational;
using clockassay::simulate_clock;
using clockassay::SimulatedCapture;
using clockassay::SimulatedClockOptions;

// Statistical checks allow this many standard deviations: one chance in
// 1.7 million that a correct program fails for a seed chosen blindly.
constexpr double kSigmas = 5.0;

SimulatedCapture simulate(const SimulatedClockOptions& options) {
  auto capture = simulate_clock(options);
  REQUIRE_MESSAGE(capture.has_value(), capture.error().message);
  return *std::move(capture);
}

std::string refusal(const SimulatedClockOptions& options) {
  const auto capture = simulate_clock(options);
  REQUIRE_FALSE(capture.has_value());
  CHECK(capture.error().code == ErrorCode::kUsage);
  return capture.error().message;
}

// ceil(num / den) for num >= 0
std::int64_t ceil_div(Int128 num, Int128 den) {
  return static_cast<std::int64_t>((num + den - 1) / den);
}

bool strictly_increasing(const std::vector<std::int64_t>& edges) {
  return std::adjacent_find(edges.begin(), edges.end(),
                            std::greater_equal<>()) == edges.end();
}

SimulatedClockOptions jittery(std::uint64_t seed) {
  SimulatedClockOptions options;
  options.frequency_hz = Rational(1'000'000);
  options.offset_ppm = *Rational::make(123'457, 10'000);  // 12.3457 ppm
  options.sample_rate_hz = Rational(100'000'000);
  options.cycles = 20'000;
  options.jitter_rms_s = 30e-9;  // 3 samples
  options.duty = *Rational::make(2, 5);
  options.seed = seed;
  return options;
}

}  // namespace

TEST_CASE("simulate_clock: a round clock gives the edges counted by hand") {
  SimulatedClockOptions options;
  options.frequency_hz = Rational(1);
  options.sample_rate_hz = Rational(10);
  options.cycles = 3;
  options.start_phase = Rational(0);
  // Ten samples a period, the first rise exactly at sample 0, which sees it.
  SimulatedCapture capture = simulate(options);
  CHECK(capture.first_level == Level::kHigh);
  CHECK(capture.last_sample == 30);
  CHECK(capture.edges == std::vector<std::int64_t>{5, 10, 15, 20, 25, 30});
  // The rise at 0 s is no change within the capture: 1, 2 and 3 s are.
  CHECK(capture.truth.pulses == 3);

  options.start_phase = *Rational::make(1, 4);  // rises at 2.5, falls at 7.5
  options.cycles = {};
  options.duration_s = *Rational::make(19, 10);
  capture = simulate(options);
  CHECK(capture.first_level == Level::kLow);
  CHECK(capture.last_sample == 19);
  CHECK(capture.edges == std::vector<std::int64_t>{3, 8, 13, 18});
}

TEST_CASE("simulate_clock: a positive offset is a faster clock") {
  SimulatedClockOptions options;
  options.frequency_hz = Rational(16'000'000);
  options.offset_ppm = Rational(60);
  options.cycles = 1;
  CHECK(simulate(options).truth.frequency_hz == Rational(16'000'960));
}

TEST_CASE("simulate_clock: a billion samples at 0.001 ppm are right to one") {
  SimulatedClockOptions options;
  options.frequency_hz = Rational(1000);
  options.offset_ppm = *Rational::make(1, 1000);
  options.sample_rate_hz = Rational(100'000'000);
  options.cycles = 10'000;
  options.start_phase = Rational(0);
  const SimulatedCapture capture = simulate(options);
  // Period R = 1e5 / (1 + 1e-9) samples = 1e14 / (1e9 + 1). The k-th change
  // after the rise at 0 is at k R / 2 = k 1e14 / (2 (1e9 + 1)).
  REQUIRE(capture.edges.size() >= 19'999);
  CHECK(capture.last_sample == 999'999'999);
  for (std::size_t i = 0; i < capture.edges.size(); ++i) {
    const Int128 num = static_cast<Int128>(i + 1) * 100'000'000'000'000;
    REQUIRE(capture.edges[i] == ceil_div(num, Int128{2'000'000'002}));
  }
}

TEST_CASE("simulate_clock: edges that meet a sample exactly never slip") {
  // 12 MHz at 100 MS/s: 25/3 samples a period, so every third rise meets a
  // sample; a period rounded upwards would see it one sample late.
  SimulatedClockOptions options;
  options.cycles = 300'000;
  options.start_phase = Rational(0);
  const SimulatedCapture capture = simulate(options);
  REQUIRE(capture.edges.size() == 600'000);
  for (std::size_t i = 0; i < capture.edges.size(); ++i) {
    REQUIRE(capture.edges[i] == ceil_div(static_cast<Int128>(i + 1) * 25, 6));
  }
}

TEST_CASE("simulate_clock: the same seed gives the same, another another") {
  SimulatedClockOptions options = jittery(7);
  options.drop_probability = 0.01;
  options.glitch_probability = 0.01;
  const SimulatedCapture a = simulate(options);
  const SimulatedCapture b = simulate(options);
  CHECK(a.edges == b.edges);
  CHECK(a.truth.start_phase == b.truth.start_phase);
  options.seed = 8;
  CHECK(simulate(options).edges != a.edges);
}

TEST_CASE("simulate_clock: mean period and jitter are as asked") {
  for (const std::uint64_t seed : {1u, 2u, 3u, 4u}) {
    CAPTURE(seed);
    const SimulatedClockOptions options = jittery(seed);
    const SimulatedCapture capture = simulate(options);
    CHECK(strictly_increasing(capture.edges));
    const long double f = capture.truth.frequency_hz.to_double();
    const long double fs = 1e8L;
    const long double phase = capture.truth.start_phase.to_double();
    // Variance of n - t fs: the noise, plus 1/12 of rounding up, which is
    // uniform and independent of it to exp(-2 pi^2 3^2) = 1e-77.
    const double sigma = std::sqrt(9.0 + 1.0 / 12.0);
    double sum = 0.0;
    double squares = 0.0;
    double count = 0.0;
    double slope_sum = 0.0;  // residual times centred cycle number
    double slope_squares = 0.0;
    for (const std::int64_t n : capture.edges) {
      // The nearest edge of the model: the middle between two is at least 20
      // samples away, 6.6 sigma.
      const long double cycle = static_cast<long double>(n) * f / fs - phase;
      const long double k = std::floor(cycle);
      const long double into = cycle - k;
      const long double edge = into < 0.2L ? k : into < 0.7L ? k + 0.4L : k + 1;
      const auto residual = static_cast<double>(static_cast<long double>(n) -
                                                (edge + phase) * fs / f);
      sum += residual;
      squares += residual * residual;
      count += 1.0;
      const auto centred = static_cast<double>(edge) - 10'000.0;
      slope_sum += (residual - 0.5) * centred;
      slope_squares += centred * centred;
    }
    const double mean = sum / count;
    // Rounding up adds half a sample.
    CHECK(std::abs(mean - 0.5) < kSigmas * sigma / std::sqrt(count));
    // (N-1) s^2 / sigma^2 is chi-square: sd of s^2/sigma^2 is sqrt(2/(N-1)).
    const double ratio =
        (squares - count * mean * mean) / (count - 1.0) / (sigma * sigma);
    CHECK(std::abs(ratio - 1.0) < kSigmas * std::sqrt(2.0 / (count - 1.0)));
    // The period in samples is right to sigma / sqrt(sum of squares).
    const double slope = slope_sum / slope_squares;
    CHECK(std::abs(slope) < kSigmas * sigma / std::sqrt(slope_squares));
  }
}

TEST_CASE("simulate_clock: lost and extra pulses come as often as asked") {
  for (const std::uint64_t seed : {11u, 12u, 13u}) {
    CAPTURE(seed);
    SimulatedClockOptions options;
    options.frequency_hz = Rational(1'000'000);
    options.cycles = 50'000;
    options.drop_probability = 0.02;
    options.glitch_probability = 0.01;
    options.seed = seed;
    const SimulatedCapture capture = simulate(options);
    const auto pulses = static_cast<double>(capture.truth.pulses);
    CHECK(pulses >= 49'999.0);
    CHECK(pulses <= 50'001.0);
    const auto binomial_sd = [](double n, double p) {
      return std::sqrt(n * p * (1.0 - p));
    };
    CHECK(std::abs(static_cast<double>(capture.truth.dropped) - 0.02 * pulses) <
          kSigmas * binomial_sd(pulses, 0.02));
    // A lost pulse has no glitch.
    const double p = 0.98 * 0.01;
    CHECK(std::abs(static_cast<double>(capture.truth.glitches) - p * pulses) <
          kSigmas * binomial_sd(pulses, p));
    // Every pulse has two edges; the capture may begin or end within one, and
    // a glitch may be cut by an end.
    const auto edges = static_cast<std::int64_t>(capture.edges.size());
    const std::int64_t expected =
        2 *
        (capture.truth.pulses - capture.truth.dropped + capture.truth.glitches);
    CHECK(std::abs(edges - expected) <= 3);
    CHECK(capture.truth.merged == 0);
    CHECK(strictly_increasing(capture.edges));
  }
}

TEST_CASE("simulate_clock: a pulse between two samples is not seen") {
  SimulatedClockOptions options;
  options.frequency_hz = Rational(1);
  options.sample_rate_hz = Rational(10);
  options.duty = *Rational::make(1, 100);
  options.start_phase = *Rational::make(1, 200);
  options.cycles = 5;
  // High from 0.05 to 0.15 samples after a sample, every period.
  const SimulatedCapture capture = simulate(options);
  CHECK(capture.edges.empty());
  CHECK(capture.first_level == Level::kLow);
  CHECK(capture.truth.pulses == 5);
  CHECK(capture.truth.merged == 5);
}

TEST_CASE("simulate_clock: edges increase even with the largest jitter") {
  SimulatedClockOptions options;
  options.frequency_hz = Rational(20'000'000);
  options.cycles = 20'000;
  options.jitter_rms_s = 6.25e-9;  // a quarter of the half period
  const SimulatedCapture capture = simulate(options);
  CHECK(strictly_increasing(capture.edges));
  CHECK(capture.truth.merged > 0);
  CHECK(capture.edges.front() >= 1);
  CHECK(capture.edges.back() <= capture.last_sample);
}

TEST_CASE("simulate_clock: the impossible is refused") {
  SimulatedClockOptions good;
  good.cycles = 10;
  const auto with = [&](auto change) {
    SimulatedClockOptions options = good;
    change(options);
    return refusal(options);
  };
  using O = SimulatedClockOptions;
  CHECK(with([](O& o) { o.frequency_hz = Rational(60'000'000); }) ==
        "found a clock of 60000000 Hz sampled at 100000000 Hz, expected at "
        "least 2 samples a period");
  CHECK(with([](O& o) { o.frequency_hz = Rational(0); }) ==
        "found a frequency or sample rate that is not above zero");
  CHECK(with([](O& o) { o.offset_ppm = Rational(-1'000'000); }) ==
        "found an offset of -1000000 ppm, expected more than -1000000 ppm");
  CHECK(with([](O& o) { o.duty = Rational(1); }) ==
        "found a duty of 1, expected more than 0 and less than 1");
  CHECK(with([](O& o) { o.start_phase = Rational(1); }) ==
        "found a start phase of 1, expected at least 0 and less than 1");
  for (const double bad :
       {-0.1, 1.1, std::numeric_limits<double>::quiet_NaN()}) {
    CHECK(with([bad](O& o) { o.drop_probability = bad; }) ==
          "found a probability outside 0 … 1");
    CHECK(with([bad](O& o) { o.glitch_probability = bad; }) ==
          "found a probability outside 0 … 1");
  }
  CHECK(with([](O& o) { o.jitter_rms_s = -1e-9; }) ==
        "found a jitter that is not zero or more");
  const char* const too_wide =
      "found a jitter above a quarter of the shorter half of the clock, where "
      "rise and fall would change places";
  CHECK(with([](O& o) { o.jitter_rms_s = 11e-9; }) == too_wide);
  CHECK(with([](O& o) { o.jitter_rms_s = INFINITY; }) == too_wide);
  CHECK(with([](O& o) { o.cycles = {}; }) ==
        "expected either a number of cycles or a duration");
  CHECK(with([](O& o) { o.duration_s = Rational(1); }) ==
        "expected either a number of cycles or a duration");
  CHECK(with([](O& o) { o.cycles = 0; }) ==
        "found 0 cycles, expected at least 1");
  CHECK(with([](O& o) {
          o.cycles = {};
          o.duration_s = Rational(0);
        }) == "found a duration that is not above zero");
  for (const int decimals : {15, 18}) {
    CAPTURE(decimals);
    Int128 power = 1;
    for (int i = 0; i < decimals; ++i) power *= 10;
    const Rational frequency = *Rational::make(1, power);
    CHECK(with([&frequency](O& o) {
            o.cycles = {};
            o.duration_s = Rational(1);
            o.frequency_hz = frequency;
            o.offset_ppm = Rational(0);
            o.sample_rate_hz = Rational(1'000'000'000);
          }) == "found a clock of " + frequency.to_string() +
                    " Hz sampled at 1000000000 Hz, expected at most 2^60 "
                    "samples a period");
  }
  CHECK(with([](O& o) { o.cycles = std::int64_t{1} << 40; }) ==
        "the capture would be too long, expected at most 2147483648 edges and "
        "2^60 samples");
}

TEST_CASE("simulate_clock: fractions too long to stay exact are refused") {
  SimulatedClockOptions options;
  options.cycles = 10;
  options.offset_ppm = *Rational::make(1, (Int128{1} << 80) + 7);
  options.start_phase = *Rational::make(1, (Int128{1} << 60) - 93);
  const auto capture = simulate_clock(options);
  REQUIRE_FALSE(capture.has_value());
  CHECK(capture.error().code == ErrorCode::kOutOfRange);
  CHECK(capture.error().message ==
        "the edge positions are fractions with too many digits to be computed "
        "exactly");
  CHECK(capture.error().hint ==
        "write frequency, offset, duty, phase and sample rate with fewer "
        "digits");
}
