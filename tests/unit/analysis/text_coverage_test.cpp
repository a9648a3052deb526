// SPDX-License-Identifier: GPL-3.0-or-later
#include <doctest/doctest.h>

#include <cmath>
#include <cstdio>
#include <random>
#include <string>

#include "clockassay/analysis/analyse.h"
#include "clockassay/capture/simulated_clock.h"
#include "support/read_text.h"

using namespace clockassay;
using test::read_text;

namespace {

/// How an instrument writes the times of its samples, in seconds.
enum class Writing { kRounded, kCut, kSixDigits };

struct Kind {
  const char* name;
  std::int64_t sample_rate_hz;
  int decimals;
  Writing writing;
  double low_hz;  ///< of the clocks
  double high_hz;
};

/// n / rate with `decimals` decimals, in integers.
std::string stamp(std::int64_t n, const Kind& kind) {
  char text[64];
  if (kind.writing == Writing::kSixDigits) {
    std::snprintf(
        text, sizeof text, "%.5e",
        static_cast<double>(n) / static_cast<double>(kind.sample_rate_hz));
    return text;
  }
  Int128 scale = 1;
  for (int i = 0; i < kind.decimals; ++i) scale *= 10;
  const Int128 rate = kind.sample_rate_hz;
  const Int128 half = kind.writing == Writing::kRounded ? rate / 2 : 0;
  const Int128 ticks = (n * scale + half) / rate;
  std::snprintf(text, sizeof text, "%lld.%0*lld",
                static_cast<long long>(ticks / scale), kind.decimals,
                static_cast<long long>(ticks % scale));
  return text;
}

std::string written(const SimulatedCapture& capture, const Kind& kind) {
  std::string text = "# sample rate: " + std::to_string(kind.sample_rate_hz) +
                     " Hz\n" + "time_s,clk\n";
  bool high = capture.first_level == Level::kHigh;
  const auto row = [&](std::int64_t n) {
    text += stamp(n, kind) + (high ? ",1\n" : ",0\n");
  };
  row(0);
  for (const std::int64_t n : capture.edges) {
    high = !high;
    row(n);
  }
  return text;
}

}  // namespace

TEST_CASE("analyse_capture: stated intervals hold for coarse and cut text") {
  constexpr Kind kKinds[] = {
      {"ns, 120 MS/s", 120'000'000, 9, Writing::kRounded, 1e6, 2e7},
      {"ns cut, 120 MS/s", 120'000'000, 9, Writing::kCut, 1e6, 2e7},
      {"ns, 2 GS/s", 2'000'000'000, 9, Writing::kRounded, 1e6, 8e7},
      {"ns cut, 2 GS/s", 2'000'000'000, 9, Writing::kCut, 1e6, 8e7},
      {"us, watch crystal", 24'000'000, 6, Writing::kRounded, 32768, 32768},
      {"us cut, watch crystal", 24'000'000, 6, Writing::kCut, 32768, 32768},
      {"6 digits", 24'000'000, 0, Writing::kSixDigits, 2e4, 1e5}};
  // Truth within U in 93 % of 300: 279. At a true coverage of 95 % fewer than
  // that happen to one choice of seeds in 13 (binomial: mean 285, deviation
  // 3.8), at 90 % 279 or more to one in 20 (270, 5.2); the half-width being a
  // bound, it is near 100 % here. The seeds are fixed.
  constexpr int kCaptures = 300;
  constexpr int kFewest = 279;
  for (const Kind& kind : kKinds) {
    CAPTURE(std::string(kind.name));
    int covered = 0;
    for (int i = 0; i < kCaptures; ++i) {
      const auto seed = static_cast<std::uint64_t>(9000 + i);
      CAPTURE(seed);
      std::mt19937_64 random(seed);
      std::uniform_real_distribution<double> uniform(0.0, 1.0);
      SimulatedClockOptions options;
      options.seed = seed;
      options.sample_rate_hz = Rational(kind.sample_rate_hz);
      // Half of them at round fractions of the rate, where sampling repeats.
      double hz =
          kind.low_hz * std::pow(kind.high_hz / kind.low_hz, uniform(random));
      if (i % 2 == 0 && kind.low_hz < kind.high_hz) {
        const auto rate = static_cast<double>(kind.sample_rate_hz);
        hz = rate / std::round(rate / hz);
      }
      options.frequency_hz = Rational(std::llround(hz));
      options.offset_ppm = Rational(std::llround(200 * uniform(random)) - 100);
      options.cycles = 20 + static_cast<std::int64_t>(300 * uniform(random));
      // A third with jitter of up to half a sample.
      if (i % 3 == 0) {
        options.jitter_rms_s =
            0.5 * uniform(random) / static_cast<double>(kind.sample_rate_hz);
      }
      const auto simulated = simulate_clock(options);
      REQUIRE(simulated);
      const auto capture = read_text(written(*simulated, kind));
      REQUIRE(capture);
      const CaptureResult r =
          analyse_capture(*capture, "text.csv", {}, serial_for);
      if (r.channels.size() != 1 || !r.channels[0].budget) continue;
      const FrequencyResult& f = r.channels[0].budget->relative_to_timebase;
      const double truth = simulated->truth.frequency_hz.to_double();
      // Without jitter a line through every window must exist, and the truth
      // be one of them: a window short of T + q would show here.
      if (options.jitter_rms_s == 0.0) {
        const ChannelResult& c = r.channels[0];
        REQUIRE(c.bound_low);
        CHECK(c.bound_low->value() <= truth);
        CHECK(c.bound_high->value() >= truth);
      }
      if (std::abs(f.value.value() - truth) <= f.expanded_uncertainty.value()) {
        ++covered;
      }
    }
    CHECK(covered >= kFewest);
  }
}
