// SPDX-License-Identifier: GPL-3.0-or-later
#include <doctest/doctest.h>

#include <cmath>
#include <cstdint>
#include <cstdio>
#include <numbers>
#include <optional>
#include <random>
#include <string>

#include "clockassay/analysis/analyse.h"
#include "support/approx.h"
#include "support/read_text.h"

using namespace clockassay;
using test::read_text;

namespace {

// A clock as a voltage of 0 … 3.3 V, sampled once a microsecond.
struct SampledWave {
  double period_us = 10.0;
  double start_us = 0.0;
  // Of the period: how long a rise or fall takes; absent for a sine.
  std::optional<double> edge;
  double duty = 0.5;
  double noise = 0.0;  // rms, of the swing
  int decimals = 3;    // of the text, in volts
  int samples = 1000;
};

double height(const SampledWave& wave, double t_us) {
  const double turns = (t_us - wave.start_us) / wave.period_us;
  const double x = turns - std::floor(turns);
  if (!wave.edge) return 0.5 + 0.5 * std::sin(2.0 * std::numbers::pi * x);
  // Rises about 0, falls about the duty, each through the half.
  const double up = x > 0.5 ? x - 1.0 : x;
  if (std::abs(up) < *wave.edge / 2) return 0.5 + up / *wave.edge;
  const double down = x - wave.duty;
  if (std::abs(down) < *wave.edge / 2) return 0.5 - down / *wave.edge;
  return x < wave.duty ? 1.0 : 0.0;
}

std::string csv_of(const SampledWave& wave, std::mt19937_64& random) {
  std::normal_distribution<double> noise(0.0, 1.0);
  std::string text = "time_us,v\n";
  for (int i = 0; i < wave.samples; ++i) {
    const double v = 3.3 * (height(wave, i) + wave.noise * noise(random));
    char row[64];
    std::snprintf(row, sizeof row, "%d,%.*f\n", i, wave.decimals, v);
    text += row;
  }
  return text;
}

const Timebase kReference = {TimebaseKind::kReference, Ppm(0.0), Ppm(0.0)};

CaptureResult analyse(const std::string& text) {
  ReadOptions options;
  options.analogue = AnalogueOptions{};
  const auto capture = read_text(text, options);
  REQUIRE_MESSAGE(capture.has_value(), capture.error().message);
  AnalysisOptions analysis;
  analysis.timebase = kReference;
  return analyse_capture(*capture, "capture.csv", analysis, serial_for);
}

}  // namespace

TEST_CASE("interpolated capture: no bounds are claimed, the window is a step") {
  std::mt19937_64 random(1);
  const CaptureResult r = analyse(csv_of({}, random));
  REQUIRE(r.channels.size() == 1);
  CHECK_FALSE(r.channels[0].bound_low.has_value());
  CHECK_FALSE(r.channels[0].bound_high.has_value());
  // One microsecond from row to row, and one in which times are written.
  CHECK(r.window.value() == testing::approx(2e-6).epsilon(1e-12));
  CHECK(r.sample_interval.value().value() == 1e-6);
  CHECK(r.sample_interval_source == "rows");
  for (const Warning& w : r.warnings) {
    CHECK(w.code == WarningCode::kThresholdAutomatic);
  }
}

TEST_CASE("interpolated capture: beside levels each has its own window") {
  std::string text = "time_us,v,clk\n";
  for (int i = 0; i < 2000; ++i) {
    const int phase = i % 10;
    text += std::to_string(i) + "," + (phase < 5 ? "0.1" : "3.2") + "," +
            (phase < 5 ? "0" : "1") + "\n";
  }
  const CaptureResult r = analyse(text);
  REQUIRE(r.channels.size() == 2);
  CHECK_FALSE(r.channels[0].bound_low.has_value());
  CHECK(r.channels[1].bound_low.has_value());
  CHECK(r.window.value() == testing::approx(1e-6).epsilon(1e-12));
}

TEST_CASE(
    "interpolated capture: aliases are those of the column's own samples") {
  // Rows at 1 MHz, a voltage in every tenth: 100 kHz, at which 110 kHz looks
  // like the 10 kHz that are seen; 1 MHz would show it with 9 samples a period.
  std::string text = "time_us,v,clk\n";
  for (int i = 0; i < 20'000; ++i) {
    char row[64];
    if (i % 10 == 0) {
      std::snprintf(row, sizeof row, "%d,%.4f,%d\n", i,
                    std::sin(2.0 * std::numbers::pi * 0.01 * (i + 3)),
                    i / 50 % 2);
    } else {
      std::snprintf(row, sizeof row, "%d,,%d\n", i, i / 50 % 2);
    }
    text += row;
  }
  const CaptureResult r = analyse(text);
  REQUIRE(r.channels.size() == 2);
  CHECK(r.sample_rate_hz == Rational(1'000'000));
  CHECK(r.channels[0].sample_rate_hz == Rational(100'000));
  CHECK_FALSE(r.channels[1].sample_rate_hz.has_value());
  for (const char* name : {"v", "clk"}) {
    CAPTURE(std::string(name));
    auto spec = specification_from_options("110kHz", "30ppm", {});
    REQUIRE(spec);
    spec->clocks.at(0).channel = name;
    const auto verdicts = judge_capture(*spec, r, kReference);
    REQUIRE(verdicts);
    CHECK(verdicts->at(0).decision ==
          (name[0] == 'v' ? Decision::kUndecided : Decision::kFail));
  }
}

TEST_CASE("interpolated capture: 95 % intervals cover the truth") {
  // Sines and trapezoids with edges from steep to a third of the period, 5 to
  // 20 samples a period, noise up to 2 % of the swing, 1 to 4 decimals.
  constexpr int kCaptures = 400;
  constexpr std::uint64_t kSeed = 4711;
  CAPTURE(kSeed);
  std::mt19937_64 random(kSeed);
  std::uniform_real_distribution<double> uniform(0.0, 1.0);
  int covered = 0, narrow = 0;
  for (int i = 0; i < kCaptures; ++i) {
    CAPTURE(i);
    SampledWave wave;
    wave.period_us = 5.0 + 15.0 * uniform(random);
    wave.start_us = wave.period_us * uniform(random);
    if (i % 3 != 0) wave.edge = 0.01 + 0.3 * uniform(random);
    wave.duty = 0.4 + 0.2 * uniform(random);
    wave.noise = i % 2 == 0 ? 0.0 : 0.02 * uniform(random);
    wave.decimals = 1 + i % 4;
    const double cycles = 20.0 + 180.0 * uniform(random);
    wave.samples = static_cast<int>(cycles * wave.period_us);
    const CaptureResult r = analyse(csv_of(wave, random));
    REQUIRE(r.channels.size() == 1);
    REQUIRE(r.channels[0].budget.has_value());
    const FrequencyResult& f = r.channels[0].budget->relative_to_timebase;
    const double truth = 1e6 / wave.period_us;
    const double off = std::abs(f.value.value() - truth);
    if (off <= f.expanded_uncertainty.value()) ++covered;
    // Any slope allowed has a residual range below w* + w, the best one w*, so
    // that they differ by less than (2 w* + w) over the capture; w* <= w.
    const double most = 3.0 * r.window.value() /
                        r.channels[0].analysed_duration.value() *
                        f.value.value();
    if (f.expanded_uncertainty.value() <= 1.01 * most) ++narrow;
  }
  CHECK(covered >= 380);
  // And they say something: no wider than the window allows.
  CHECK(narrow >= 380);
}
