// SPDX-License-Identifier: GPL-3.0-or-later
// Captures from reset: what parts them, and what a time for settling allows.
#include <doctest/doctest.h>

#include <cmath>

#include "clockassay/analysis/analyse.h"
#include "support/approx.h"
#include "support/read_text.h"
#include "support/sampled_vcd.h"

using namespace clockassay;
using test::ChangingClock;

namespace {

constexpr std::uint64_t kSeed = 31;

Timebase one_ppm() {
  return {TimebaseKind::kStated, Ppm(0.0), Ppm(1.0)};
}

CaptureResult analyse(const ChangingClock& clock, std::mt19937_64& random,
                      AnalysisOptions options = {}) {
  const auto capture = test::read_text(test::sampled_vcd(clock, random));
  REQUIRE(capture);
  options.timebase = one_ppm();
  return analyse_capture(*capture, "reset.vcd", options, serial_for);
}

Rational ms(double value) {
  return *Rational::make(std::llround(1000.0 * value), 1'000'000);
}

AnalysisOptions settling_in(double milliseconds) {
  AnalysisOptions options;
  options.settling = {{"clk", ms(milliseconds)}};
  return options;
}

/// 2.0345 MHz, off by `ppm` before `at_s`.
ChangingClock stepping(double at_s, double ppm, double jitter) {
  return {[=](double t) {
            return 2.0345e6 * (1.0 + (t < at_s ? 1e-6 * ppm : 0.0));
          },
          6e-3, jitter};
}

Specification expecting(const std::string& frequency, double settle_ms) {
  auto spec = specification_from_options(frequency, "30ppm", {});
  REQUIRE(spec);
  spec->clocks[0].channel = "clk";
  if (settle_ms > 0.0) spec->clocks[0].settle_within_s = ms(settle_ms);
  return *spec;
}

Verdict verdict_on(const ChangingClock& clock, const std::string& expect,
                   double settle_ms, AnalysisOptions options = {}) {
  std::mt19937_64 random(kSeed);
  if (settle_ms > 0.0) options.settling = {{"clk", ms(settle_ms)}};
  const CaptureResult capture = analyse(clock, random, options);
  const auto verdicts =
      judge_capture(expecting(expect, settle_ms), capture, one_ppm());
  REQUIRE(verdicts);
  return verdicts->at(0);
}

Decision settling_of(const Verdict& verdict) {
  for (const Check& check : verdict.checks) {
    if (check.check == "settling") return check.decision;
  }
  FAIL("no check of settling");
  return Decision::kFail;
}

bool warns(const ChannelResult& channel, WarningCode code) {
  for (const Warning& w : channel.warnings) {
    if (w.code == code) return true;
  }
  return false;
}

}  // namespace

TEST_CASE("analyse_capture: from reset by an RC and a crystal to a PLL") {
  // 0 … 1 ms an RC oscillator at 1.6 times that wanders by 2 %, 1 … 2 ms a
  // crystal of 2.0345 MHz, then 4.5 times that. Cycles take 0.5 us: the changes
  // are found within 8 of them, the fewest that show a regime; the RC's wander
  // may look like steps of its own.
  INFO("seed ", kSeed);
  std::mt19937_64 random(kSeed);
  for (double sigma : {0.1, 1.0}) {
    int covered = 0;
    for (int trial = 0; trial < 10; ++trial) {
      double wander = 0.0;
      std::normal_distribution<double> normal;
      const auto frequency = [&](double t) {
        wander = 0.999 * wander + 0.045 * 0.02 * normal(random);
        if (t < 1e-3) return 2.0345e6 * (1.6 + wander);
        return t < 2e-3 ? 2.0345e6 : 9.15525e6;
      };
      CAPTURE(sigma);
      CAPTURE(trial);
      const CaptureResult r = analyse({frequency, 3.5e-3, sigma}, random);
      REQUIRE(r.channels.size() == 1);
      const auto& stretches = r.channels[0].stretches;
      REQUIRE(stretches.size() >= 3);
      const StretchRecord& pll = stretches.back();
      const StretchRecord& crystal = stretches[stretches.size() - 2];
      CHECK(pll.begins_after == StretchBreak::kRegimeChange);
      CHECK(std::abs(pll.from.value() - 2e-3) < 4e-6);
      CHECK(std::abs(crystal.to.value() - 2e-3) < 4e-6);
      CHECK(std::abs(crystal.from.value() - 1e-3) < 4e-6);
      CHECK(crystal.budget->frequency.value.value() ==
            testing::approx(2.0345e6).epsilon(1e-4));
      const FrequencyResult& own = pll.budget->relative_to_timebase;
      covered += std::abs(own.value.value() - 9.15525e6) <=
                 own.expanded_uncertainty.value();
      CHECK(warns(r.channels[0], WarningCode::kSeveralStretches));
    }
    // 10 at 95 %: fewer than 7 once in 1000.
    CHECK(covered >= 7);
  }
}

TEST_CASE("analyse_capture: a crystal after an RC of nearly its frequency") {
  // The RC is 6 % high and wanders by 2 %: no gross change, and no lines fit
  // it. Of 30 such captures one was not parted; of 20, more than 4 once in 1e4.
  INFO("seed ", kSeed);
  std::mt19937_64 random(kSeed);
  int parted = 0, covered = 0;
  for (int trial = 0; trial < 20; ++trial) {
    double wander = 0.0;
    std::normal_distribution<double> normal;
    const auto frequency = [&](double t) {
      wander = 0.999 * wander + 0.045 * 0.02 * normal(random);
      return 2.0345e6 * (t < 1e-3 ? 1.06 + wander : 1.0);
    };
    const CaptureResult r =
        analyse({frequency, 3e-3, trial % 2 == 0 ? 0.1 : 1.0}, random);
    const StretchRecord& last = r.channels.at(0).stretches.back();
    parted += last.begins_after == StretchBreak::kFrequencyStep &&
              std::abs(last.from.value() - 1e-3) < 20e-6;
    const FrequencyResult& own = last.budget->relative_to_timebase;
    covered += std::abs(own.value.value() - 2.0345e6) <=
               own.expanded_uncertainty.value();
  }
  CHECK(parted >= 16);
  CHECK(covered >= 16);  // of 20 at 95 %, fewer than 16 once in 400
}

TEST_CASE("analyse_capture: a step is parted, and both sides are true") {
  // 60 ppm at 2 of 6 ms, 4000 of 12 000 cycles of 49 samples. The intervals are
  // of 95 %: of 40, fewer than 33 once in 500.
  INFO("seed ", kSeed);
  std::mt19937_64 random(kSeed);
  int covered = 0, contained = 0;
  for (int trial = 0; trial < 20; ++trial) {
    const CaptureResult r =
        analyse(stepping(2e-3, 60.0, trial % 2 == 0 ? 0.1 : 1.0), random);
    const ChannelResult& c = r.channels.at(0);
    REQUIRE(c.stretches.size() == 2);
    CHECK(c.stretches[1].begins_after == StretchBreak::kFrequencyStep);
    contained += c.stretches[0].to.value() < 2.0005e-3 &&
                 c.stretches[1].from.value() > 1.9995e-3;
    for (std::size_t i : {0u, 1u}) {
      const FrequencyResult& own = c.stretches[i].budget->relative_to_timebase;
      const double truth = 2.0345e6 * (i == 0 ? 1.00006 : 1.0);
      covered += std::abs(own.value.value() - truth) <=
                 own.expanded_uncertainty.value();
    }
    CHECK(forbids_pass(c.warnings));
    REQUIRE(c.settled_after);
    CHECK(c.settled_after->value() > 1.9e-3);
    CHECK(c.settled_after->value() < 2.2e-3);
  }
  CHECK(covered >= 33);
  CHECK(contained >= 19);  // three standard deviations: once in 400 not
}

TEST_CASE("analyse_capture: what changed while settling is not warned of") {
  std::mt19937_64 random(kSeed);
  const ChangingClock clock = stepping(2e-3, 60.0, 0.1);
  const CaptureResult before = analyse(clock, random, settling_in(3.0));
  const ChannelResult& c = before.channels.at(0);
  REQUIRE(c.stretches.size() == 3);
  CHECK(c.stretches[2].begins_after == StretchBreak::kSettlingEnds);
  CHECK(c.stretches[2].from.value() >= 3e-3);
  CHECK(c.stretches[1].to.value() <= 3e-3);
  CHECK_FALSE(warns(c, WarningCode::kSeveralStretches));
  const CaptureResult after = analyse(clock, random, settling_in(1.0));
  CHECK(warns(after.channels.at(0), WarningCode::kSeveralStretches));
  // Another channel's time is not this one's.
  AnalysisOptions other = settling_in(3.0);
  other.settling[0].channel = "led";
  CHECK(analyse(clock, random, other).channels.at(0).stretches.size() == 2);
}

TEST_CASE("judge_capture: a step passes before the time and never after it") {
  const ChangingClock step = stepping(2e-3, 60.0, 0.1);
  // Without a time a pass is forbidden; the last stretch alone would pass.
  CHECK(verdict_on(step, "2.0345MHz", 0.0).decision == Decision::kUndecided);
  const Verdict passed = verdict_on(step, "2.0345MHz", 2.5);
  CHECK(passed.decision == Decision::kPass);
  CHECK(settling_of(passed) == Decision::kPass);
  const Verdict failed = verdict_on(step, "2.0345MHz", 1.0);
  CHECK(failed.decision == Decision::kFail);
  CHECK(settling_of(failed) == Decision::kFail);
  // A step of 20 ppm is within the tolerance, and no pass either.
  const Verdict slight =
      verdict_on(stepping(2e-3, 20.0, 0.1), "2.0345MHz", 1.0);
  CHECK(slight.decision == Decision::kUndecided);
  CHECK(settling_of(slight) == Decision::kUndecided);
}

TEST_CASE("judge_capture: an exponential settling passes once it is within") {
  // 300 ppm, 0.4 ms: below the tolerance of 30 ppm after 0.4 ln 10 = 0.92 ms.
  const ChangingClock clock{[](double t) {
                              return 2.0345e6 *
                                     (1.0 + 300e-6 * std::exp(-t / 0.4e-3));
                            },
                            8e-3, 0.1};
  const Verdict late = verdict_on(clock, "2.0345MHz", 2.0);
  CHECK(late.decision == Decision::kPass);
  for (const Check& check : late.checks) {
    if (check.check != "settling") continue;
    REQUIRE(check.value);
    CHECK(*check.value > 0.7e-3);
    CHECK(*check.value < 1.3e-3);
  }
  CHECK(settling_of(verdict_on(clock, "2.0345MHz", 0.3)) == Decision::kFail);
}

TEST_CASE("judge_capture: stops, and what is not looked at, decide nothing") {
  const ChangingClock stops{
      [](double t) { return t > 2e-3 && t < 2.2e-3 ? 0.0 : 2.0345e6; }, 6e-3,
      0.1};
  CHECK(verdict_on(stops, "2.0345MHz", 3.0).decision == Decision::kPass);
  CHECK(settling_of(verdict_on(stops, "2.0345MHz", 1.0)) ==
        Decision::kUndecided);
  // --from counts from the first stamp, and so does the time for settling.
  const ChangingClock steady = stepping(0.0, 0.0, 0.1);
  AnalysisOptions from;
  from.from_s = ms(2.0);
  CHECK(verdict_on(steady, "2.0345MHz", 3.0, from).decision == Decision::kPass);
  CHECK(settling_of(verdict_on(steady, "2.0345MHz", 1.0, from)) ==
        Decision::kUndecided);
  AnalysisOptions span;
  span.span_s = ms(2.0);
  const Verdict unseen = verdict_on(steady, "2.0345MHz", 3.0, span);
  CHECK(unseen.decision == Decision::kUndecided);
  CHECK(unseen.reasons.at(0).find("nothing after that is seen") !=
        std::string::npos);
  CHECK(verdict_on(steady, "2.0345MHz", 10.0).decision == Decision::kUndecided);
}

TEST_CASE("judge_capture: a settled clock of another frequency still fails") {
  CHECK(verdict_on(stepping(2e-3, 60.0, 0.1), "2.0347MHz", 3.0).decision ==
        Decision::kFail);
}

TEST_CASE("judge_capture: one channel has one time for settling") {
  std::mt19937_64 random(kSeed);
  Specification spec = expecting("2.0345MHz", 3.0);
  spec.clocks.push_back(spec.clocks[0]);
  spec.clocks[1].settle_within_s.reset();
  const auto verdicts = judge_capture(
      spec, analyse(stepping(2e-3, 60.0, 0.1), random, settling_in(3.0)),
      one_ppm());
  REQUIRE_FALSE(verdicts);
  CHECK(verdicts.error().code == ErrorCode::kBadSpec);
  CHECK(verdicts.error().message ==
        "the clocks on channel clk do not state one \"settle_within\"");
}

TEST_CASE("judge_capture: a stray pulse while settling forbids nothing") {
  // A pulse at once, silence of 600 periods, then the clock.
  const ChangingClock stray{
      [](double t) { return t > 0.3e-6 && t < 0.3e-3 ? 0.0 : 2.0345e6; }, 6e-3,
      0.1};
  std::mt19937_64 random(kSeed);
  CHECK(warns(analyse(stray, random).channels.at(0),
              WarningCode::kRepairDoubtful));
  CHECK_FALSE(warns(analyse(stray, random, settling_in(1.0)).channels.at(0),
                    WarningCode::kRepairDoubtful));
  CHECK(verdict_on(stray, "2.0345MHz", 0.0).decision == Decision::kUndecided);
  CHECK(verdict_on(stray, "2.0345MHz", 1.0).decision == Decision::kPass);
  CHECK(verdict_on(stray, "2.0345MHz", 0.1).decision == Decision::kUndecided);
}
