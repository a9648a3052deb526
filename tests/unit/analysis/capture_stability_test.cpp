// SPDX-License-Identifier: GPL-3.0-or-later
#include <doctest/doctest.h>

#include <algorithm>
#include <cmath>
#include <cstdio>
#include <numbers>
#include <string>
#include <vector>

#include "clockassay/analysis/analyse.h"
#include "support/approx.h"
#include "support/read_text.h"

using namespace clockassay;
using test::read_text;

namespace {

constexpr const char* kHeader =
    "$timescale 10 ns $end\n$comment sample rate: 100 MHz $end\n"
    "$var wire 1 ! clk $end $enddefinitions $end\n#0\n0!\n";

/// Pulses of that period [ticks] from a tick on; every fourth edge is a tick
/// late, so that there is something to see.
std::string pulses(std::int64_t from, int cycles, std::int64_t period) {
  std::string text;
  for (int k = 0; k < cycles; ++k) {
    const std::int64_t rise = from + period * k + (k % 4 == 0 ? 1 : 0);
    text += "#" + std::to_string(rise) + "\n1!\n";
    text += "#" + std::to_string(rise + period / 2) + "\n0!\n";
  }
  return text;
}

ChannelResult analyse(const std::string& text, const AnalysisOptions& options,
                      const ReadOptions& reading = {}) {
  const auto capture = read_text(text, reading);
  REQUIRE(capture);
  const CaptureResult r =
      analyse_capture(*capture, "capture", options, serial_for);
  REQUIRE(r.channels.size() == 1);
  return r.channels[0];
}

AnalysisOptions asked(std::vector<Seconds> taus = {}) {
  AnalysisOptions options;
  options.stability = StabilityOptions{std::move(taus)};
  return options;
}

long tau_warnings(const ChannelResult& c) {
  return std::count_if(
      c.warnings.begin(), c.warnings.end(),
      [](const Warning& w) { return w.code == WarningCode::kTauLeftOut; });
}

}  // namespace

TEST_CASE("analyse_capture: periods are counted with stability, by samples") {
  // 199 periods of 39, 40, 40, 41 samples in turn.
  const std::vector<std::int64_t> counts = {50, 100, 49};
  const std::string text = kHeader + pulses(100, 200, 40);
  CHECK_FALSE(analyse(text, {}).periods);
  const ChannelResult c = analyse(text, asked());
  REQUIRE(c.periods);
  CHECK(c.periods->counts == counts);
  CHECK(c.periods->first.value() == testing::approx(385e-9));
  CHECK(c.periods->bin.value() == testing::approx(10e-9));
  // The same with a rate said to be twice as high, which the steps of the clock
  // contradict: no bin of 5 ns in between stays empty.
  std::string twice = kHeader;
  twice.replace(twice.find("100 MHz"), 7, "200 MHz");
  twice.replace(twice.find("10 ns"), 5, "5 ns");
  for (int k = 0; k < 200; ++k) {
    const int rise = 2 * (100 + 40 * k + (k % 4 == 0 ? 1 : 0));
    twice += "#" + std::to_string(rise) + "\n1!\n";
    twice += "#" + std::to_string(rise + 40) + "\n0!\n";
  }
  const ChannelResult coarse = analyse(twice, asked());
  REQUIRE(coarse.periods);
  CHECK(coarse.periods->counts == counts);
  CHECK(coarse.periods->bin.value() == testing::approx(10e-9));
}

TEST_CASE("analyse_capture: a time-interval error against what is expected") {
  // 400 ns by the capture, 200 cycles; 2.49 MHz expected: 1.606 ns a cycle.
  AnalysisOptions options;
  options.expected = {{std::nullopt, Rational(2'490'000)}};
  const std::string text = kHeader + pulses(100, 200, 40);
  const auto error = analyse(text, options).jitter.tie_nominal_peak_to_peak;
  REQUIRE(error);
  // Late edges add a tick at most.
  CHECK(std::abs(error->value() - 199 * (1 / 2.49e6 - 400e-9)) < 10.1e-9);
  // Of another channel, or two that differ: none. Two of the same: one.
  options.expected = {{"other", Rational(2'490'000)}};
  CHECK_FALSE(analyse(text, options).jitter.tie_nominal_rms);
  options.expected = {{"clk", Rational(2'490'000)},
                      {"clk", Rational(2'500'000)}};
  CHECK_FALSE(analyse(text, options).jitter.tie_nominal_rms);
  options.expected[1] = options.expected[0];
  CHECK(analyse(text, options).jitter.tie_nominal_peak_to_peak == error);
  // Seen by a timebase that is known to be off it lies elsewhere.
  options.timebase = {TimebaseKind::kCalibrated, Ppm(1000.0), Ppm(1.0)};
  const auto fast = analyse(text, options).jitter.tie_nominal_peak_to_peak;
  CHECK(std::abs(fast->value() - 199 * (1.001 / 2.49e6 - 400e-9)) < 10.1e-9);
}

TEST_CASE("analyse_capture: stability is worked out where it is asked for") {
  const std::string text = kHeader + pulses(100, 200, 40);
  CHECK_FALSE(analyse(text, {}).stability);
  const ChannelResult c = analyse(text, asked());
  REQUIRE(c.stability);
  REQUIRE(c.stability->points.size() == 6);  // 1 ... 32 of 199/4
  for (std::size_t i = 0; i < 6; ++i) {
    const StabilityPoint& p = c.stability->points[i];
    const auto m = static_cast<double>(1 << i);
    // 400 ns a period, up to what the capture leaves of it open.
    CHECK(p.tau.value() == testing::approx(m * 400e-9).epsilon(1e-3));
    // The window is one sample, 10 ns.
    CHECK(*p.floor_adev ==
          testing::approx(10e-9 / (2.0 * m * 400e-9)).epsilon(1e-3));
    CHECK(p.sampling_limited == (*p.adev < 2.0 * *p.floor_adev));
  }
  CHECK(c.stability->points[0].sampling_limited);
  CHECK(c.stability->points[2].sampling_limited);
  CHECK(tau_warnings(c) == 0);
  // Second differences are 1, 0, 1, -2 over and over, in terms 0 ... 197, the
  // last two 1 and 0: squares of 49 * 6 + 1. Of the period a tick over the
  // capture is open.
  CHECK(*c.stability->points[0].adev ==
        testing::approx(std::sqrt(295.0 / 198.0 / 2.0) / 40.0)
            .epsilon(1.0 / (199 * 40)));
  // From m = 4 on all terms are of edges that are late alike.
  CHECK(*c.stability->points[2].adev < 1e-12);
}

TEST_CASE("analyse_capture: stability is that of the last stretch") {
  const ChannelResult c = analyse(
      kHeader + pulses(100, 1000, 40) + pulses(50'000, 401, 80), asked());
  REQUIRE(c.stretches.size() == 2);
  REQUIRE(c.stability);
  // A quarter of 400 periods of 800 ns.
  CHECK(c.stability->longest.value() ==
        testing::approx(100 * 800e-9).epsilon(1e-3));
  CHECK(c.stability->points.front().tau.value() ==
        testing::approx(800e-9).epsilon(1e-3));
}

TEST_CASE("analyse_capture: tau that cannot be formed are warned of") {
  const ChannelResult c =
      analyse(kHeader + pulses(100, 201, 40),
              asked({Seconds(1.0), Seconds(4e-6), Seconds(1e-9)}));
  REQUIRE(c.stability);
  REQUIRE(c.stability->points.size() == 1);
  CHECK(c.stability->points[0].tau.value() ==
        testing::approx(4e-6).epsilon(1e-3));
  REQUIRE(tau_warnings(c) == 1);
  CHECK(std::any_of(c.warnings.begin(), c.warnings.end(), [](const Warning& w) {
    return w.message.starts_with(
        "no stability at tau = 1.000 s, 1.000 ns: it takes half a period at "
        "least, and 20.00 µs, a quarter of what is analysed, at most");
  }));
}

TEST_CASE("analyse_capture: few edges have a frequency and no stability") {
  const ChannelResult c = analyse(kHeader + pulses(100, 4, 40), asked());
  REQUIRE(c.budget);
  REQUIRE(c.stability);
  CHECK(c.stability->points.empty());
}

TEST_CASE("analyse_capture: interpolated edges have no floor by sampling") {
  std::string text = "time_us,v\n";
  for (int i = 0; i < 2000; ++i) {
    char row[64];
    std::snprintf(row, sizeof row, "%d,%.4f\n", i,
                  std::sin(2.0 * std::numbers::pi * 0.0137 * (i + 3)));
    text += row;
  }
  ReadOptions reading;
  reading.analogue = AnalogueOptions{};
  const ChannelResult c = analyse(text, asked(), reading);
  REQUIRE(c.stability);
  REQUIRE_FALSE(c.stability->points.empty());
  for (const StabilityPoint& p : c.stability->points) {
    CHECK(p.adev);
    CHECK_FALSE(p.floor_adev);
    CHECK_FALSE(p.sampling_limited);
  }
}
