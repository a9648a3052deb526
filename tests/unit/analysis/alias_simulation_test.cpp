// SPDX-License-Identifier: GPL-3.0-or-later
#include <doctest/doctest.h>

#include <cmath>
#include <cstdio>
#include <random>
#include <string>
#include <vector>

#include "clockassay/analysis/analyse.h"
#include "clockassay/base/quantity_text.h"
#include "support/approx.h"
#include "support/read_text.h"

using namespace clockassay;
using test::read_text;

namespace {

constexpr double kRate = 100e6;
constexpr int kSamples = 40'000;

/// A clock sampled without any regard to whether it is too fast for that: level
/// by level, not edge by edge.
std::string sampled(double hertz, double jitter_periods, double duty,
                    std::mt19937_64& random) {
  std::normal_distribution<double> normal(0.0, 1.0);
  std::string text = "# sample rate: 100 MHz\ntime_s,clk\n";
  int last = -1;
  std::int64_t cycle = -1;
  double rise = 0.0, fall = duty;
  for (int n = 0; n < kSamples; ++n) {
    const double turns = hertz / kRate * n + 0.3;
    const double whole = std::floor(turns);
    if (static_cast<std::int64_t>(whole) != cycle) {
      cycle = static_cast<std::int64_t>(whole);
      rise = jitter_periods > 0.0 ? jitter_periods * normal(random) : 0.0;
      fall =
          duty + (jitter_periods > 0.0 ? jitter_periods * normal(random) : 0.0);
    }
    const double phase = turns - whole;
    const int level = phase >= rise && phase < fall ? 1 : 0;
    if (level == last && n + 1 < kSamples) continue;
    last = level;
    char row[48];
    std::snprintf(row, sizeof row, "%d.%02de-6,%d\n", n / 100, n % 100, level);
    text += row;
  }
  return text;
}

CaptureResult analysed(const std::string& text, const Timebase& timebase) {
  const auto capture = read_text(text);
  REQUIRE(capture);
  AnalysisOptions options;
  options.timebase = timebase;
  return analyse_capture(*capture, "alias.csv", options, serial_for);
}

}  // namespace

TEST_CASE("judge_capture: an alias of a suspect never passes") {
  constexpr std::uint64_t kSeed = 77;
  INFO("seed ", kSeed);
  std::mt19937_64 random(kSeed);
  std::uniform_real_distribution<double> uniform(0.0, 1.0);
  const Timebase timebase{TimebaseKind::kStated, Ppm(0.0), Ppm(2.0)};
  int seen_as_alias = 0, would_pass = 0, trials = 0;
  for (int trial = 0; trial < 150; ++trial) {
    CAPTURE(trial);
    // A suspect between half and six times the sample rate, up to 30 ppm off.
    const std::int64_t nominal =
        50'000'000 + std::llround(550e6 * uniform(random));
    const double hertz =
        static_cast<double>(nominal) * (1.0 + 60e-6 * (uniform(random) - 0.5));
    const double alias = std::abs(hertz - kRate * std::round(hertz / kRate));
    if (alias < 5e5) continue;  // too few edges for a verdict
    ++trials;
    const double jitter = trial % 3 == 0 ? 0.01 * uniform(random) : 0.0;
    const double duty = 0.35 + 0.3 * uniform(random);
    const CaptureResult r =
        analysed(sampled(hertz, jitter, duty, random), timebase);
    if (r.channels.empty() || !r.channels[0].budget) continue;
    const FrequencyResult& f = r.channels[0].budget->relative_to_timebase;
    const bool there =
        std::abs(f.value.value() - alias) <= f.expanded_uncertainty.value();
    seen_as_alias += there;
    // Without jitter an alias is a clean clock, or one said to be undersampled.
    if (jitter == 0.0) {
      const bool expected = there || forbids_pass(r.channels[0].warnings);
      CHECK(expected);
    }
    // Whoever expects just what is seen passes it, unless the suspect is named.
    auto spec = specification_from_options(
        std::to_string(std::llround(f.value.value())), "50ppm", {});
    REQUIRE(spec);
    const auto alone = judge_capture(*spec, r, timebase);
    REQUIRE(alone);
    would_pass += alone->at(0).decision == Decision::kPass;
    const auto band = parse_tolerance("50ppm");
    REQUIRE(band);
    spec->suspects = {{"the suspect", Rational(nominal), *band}};
    const auto verdicts = judge_capture(*spec, r, timebase);
    REQUIRE(verdicts);
    CHECK(verdicts->at(0).decision != Decision::kPass);
    if (alone->at(0).decision != Decision::kPass) continue;
    REQUIRE(verdicts->at(0).warnings.size() >= 1);
    CHECK(verdicts->at(0).warnings[0].code == WarningCode::kAliasCandidate);
  }
  // The check bites: a third of the aliases are above a third of the sample
  // rate (undersampled), and a third jitters; the rest would pass.
  CHECK(seen_as_alias > trials / 2);
  CHECK(would_pass > trials / 4);
}

TEST_CASE("analyse_capture: what is left open by the sample rate is listed") {
  std::mt19937_64 random(1);
  const Timebase timebase{TimebaseKind::kStated, Ppm(0.0), Ppm(2.0)};
  // 91.87 MHz at 100 MS/s is seen at 8.13, as 108.13 would be.
  const CaptureResult r = analysed(sampled(91.87e6, 0, 0.5, random), timebase);
  REQUIRE(r.channels.size() == 1);
  const ChannelResult& c = r.channels[0];
  CHECK(c.budget->frequency.value.value() ==
        testing::approx(8.13e6).epsilon(1e-6));
  REQUIRE(c.looks_like.size() == 2);
  CHECK(c.looks_like[0].value() == testing::approx(91.87e6).epsilon(1e-7));
  CHECK(c.looks_like[1].value() == testing::approx(108.13e6).epsilon(1e-7));
  CHECK(c.samples_per_period.value() ==
        testing::approx(100.0 / 8.13).epsilon(1e-6));
  CHECK(r.sample_rate_hz == Rational(100'000'000));
  CHECK(r.text_resolution.value() == testing::approx(1e-8));
  CHECK(r.text_resolution_reason ==
        "the last decimal of the times as they are written");
  CHECK(r.sample_interval_reason == "stated in line 1");
  CHECK(r.window_reason == "one sampling interval");
}
