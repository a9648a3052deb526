// SPDX-License-Identifier: GPL-3.0-or-later
#include <doctest/doctest.h>

#include <algorithm>
#include <cmath>
#include <random>
#include <string>

#include "clockassay/analysis/analyse.h"
#include "support/read_text.h"
#include "unit/verdict/clock_under_test.h"

using namespace clockassay;
using test::read_text;

namespace {

/// Levels of a clock of `period` samples, high for `high` of them, as samples
/// meet it: one stamp a change, in samples.
std::string sampled_clock(double period, double high, double phase,
                          int samples) {
  std::string text =
      "$timescale 10 ns $end\n$comment sample rate: 100 MHz $end\n"
      "$var wire 1 ! clk $end\n$enddefinitions $end\n";
  int level = -1;
  for (int n = 0; n < samples; ++n) {
    const double at = std::fmod(static_cast<double>(n) + phase, period);
    const int now = at < high ? 1 : 0;
    if (now != level) {
      text += "#" + std::to_string(n) + "\n" + std::to_string(now) + "!\n";
      level = now;
    }
  }
  return text + "#" + std::to_string(samples) + "\n";
}

std::vector<Warning> warnings_of(const std::string& text) {
  const auto capture = read_text(text);
  REQUIRE(capture);
  const CaptureResult r =
      analyse_capture(*capture, "capture.vcd", {}, serial_for);
  REQUIRE(r.channels.size() == 1);
  std::vector<Warning> all = r.warnings;
  all.insert(all.end(), r.channels[0].warnings.begin(),
             r.channels[0].warnings.end());
  return all;
}

bool has(const std::vector<Warning>& warnings, WarningCode code) {
  return std::any_of(warnings.begin(), warnings.end(),
                     [code](const Warning& w) { return w.code == code; });
}

}  // namespace

TEST_CASE("narrow_pulses: every second pulse missed is no clean slower clock") {
  // Highs of 0.4 samples every 14.5: of two neighbours, half a sample apart in
  // phase, never more than one is met; 29 samples apart it is met again.
  const auto warnings = warnings_of(sampled_clock(14.5, 0.4, 0.1, 29000));
  REQUIRE(has(warnings, WarningCode::kNarrowPulses));
  CHECK(forbids_pass(warnings));
  CHECK(forbids_fail(warnings));
  const auto narrow = std::find_if(
      warnings.begin(), warnings.end(),
      [](const Warning& w) { return w.code == WarningCode::kNarrowPulses; });
  CHECK(narrow->message.find(
            " high times seen are one sampling interval long: shorter ones "
            "were missed if there are any, and the clock may be a multiple of "
            "what is seen; sample several times as fast") != std::string::npos);
}

TEST_CASE("narrow_pulses: lows count as well") {
  // High for 14.1 of 14.5: lows of 0.4.
  CHECK(has(warnings_of(sampled_clock(14.5, 14.1, 0.1, 29000)),
            WarningCode::kNarrowPulses));
}

TEST_CASE("narrow_pulses: pulses longer than a sample are all met") {
  for (const double high : {1.2, 1.5, 2.0, 7.25}) {
    CAPTURE(high);
    CHECK_FALSE(has(warnings_of(sampled_clock(14.53, high, 0.1, 29000)),
                    WarningCode::kNarrowPulses));
  }
}

TEST_CASE("narrow_pulses: a slower clock it seems neither passes nor fails") {
  // Whatever pulses of less than a sample look like: never a pass for another
  // frequency, never a fail for the right one.
  constexpr std::uint64_t kSeed = 17;
  INFO("seed ", kSeed);
  std::mt19937_64 random(kSeed);
  std::uniform_real_distribution<double> uniform(0.0, 1.0);
  for (int trial = 0; trial < 60; ++trial) {
    // Near a third or half sample, where the pattern is regular.
    const double period = 5.0 + static_cast<int>(20 * uniform(random)) / 6.0 +
                          1e-5 * uniform(random);
    const double high = 0.1 + 0.85 * uniform(random);
    CAPTURE(period);
    CAPTURE(high);
    const auto capture =
        read_text(sampled_clock(period, high, 20 * uniform(random), 20000));
    REQUIRE(capture);
    AnalysisOptions options;
    options.timebase = {TimebaseKind::kStated, Ppm(0.0), Ppm(1.0)};
    const CaptureResult r =
        analyse_capture(*capture, "capture.vcd", options, serial_for);
    // Locked to whole samples it may never be met: as dead as a dead pin.
    if (r.channels.empty()) continue;
    for (const double multiple : {1.0, 2.0, 3.0, 4.0}) {
      const double hertz = 1e8 / period / multiple;
      Specification specification;
      specification.clocks = {clock_of(std::to_string(hertz) + "Hz", "300ppm")};
      const auto verdicts = judge_capture(specification, r, options.timebase);
      REQUIRE(verdicts);
      const Decision d = verdicts->at(0).decision;
      if (multiple == 1.0) {
        CHECK(d != Decision::kFail);
      } else {
        CHECK(d != Decision::kPass);
      }
    }
  }
}
