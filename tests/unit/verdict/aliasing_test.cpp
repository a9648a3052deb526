// SPDX-License-Identifier: GPL-3.0-or-later
#include "verdict/aliasing.h"

#include <doctest/doctest.h>

#include <algorithm>
#include <cmath>
#include <random>
#include <vector>

#include "support/approx.h"
#include "unit/verdict/clock_under_test.h"

using namespace clockassay;

namespace {

constexpr std::int64_t kMega = 1'000'000;

ClockEvidence sampled(double hertz, std::int64_t rate_hz,
                      double timebase_ppm = 2.0) {
  ClockEvidence evidence = evidence_of(hertz, timebase_ppm);
  evidence.sample_rate_hz = Rational(rate_hz);
  evidence.sample_interval = Seconds(1.0 / static_cast<double>(rate_hz));
  return evidence;
}

/// Levels of a clock high for the first `high` of `period` parts of its period,
/// from part `start` on, which moves on by `step` parts a sample: exact.
std::vector<bool> levels(std::int64_t step, std::int64_t period,
                         std::int64_t high, std::int64_t start) {
  std::vector<bool> out;
  std::int64_t at = start;
  for (int n = 0; n < 5000; ++n) {
    out.push_back(at < high);
    at = (at + step) % period;
  }
  return out;
}

}  // namespace

TEST_CASE("alias_of: the distance from the nearest multiple of the rate") {
  const auto seen = [](std::int64_t f, std::int64_t rate) {
    return alias_of(Rational(f), Rational(rate));
  };
  CHECK(seen(92, 100)->frequency_hz == Rational(8));
  CHECK(seen(92, 100)->folds == 1);
  CHECK(seen(50, 24)->frequency_hz == Rational(2));
  CHECK(seen(50, 24)->folds == 2);
  CHECK(seen(12, 100)->frequency_hz == Rational(12));
  CHECK(seen(12, 100)->folds == 0);
  CHECK(seen(300, 100)->frequency_hz == Rational(0));
}

TEST_CASE("alias_of: the levels of an alias are those of the slow clock") {
  // A clock of F = k fs ± f moves by k ± f/fs periods a sample. Whole periods
  // do not show: from the phase on, levels are those of f, forwards or
  // backwards.
  constexpr std::uint64_t kSeed = 8;
  INFO("seed ", kSeed);
  std::mt19937_64 random(kSeed);
  for (int trial = 0; trial < 200; ++trial) {
    CAPTURE(trial);
    const std::int64_t rate = 1000 + static_cast<std::int64_t>(random() % 9000);
    const std::int64_t f = static_cast<std::int64_t>(random() % 40'000);
    const auto alias = alias_of(Rational(f), Rational(rate));
    REQUIRE(alias);
    const auto slow = static_cast<std::int64_t>(alias->frequency_hz.num());
    // In `rate` parts of a period a sample moves by f parts, modulo whole ones.
    const std::int64_t high = rate / 3;
    const bool backwards = alias->folds * rate > f;
    const std::int64_t step = backwards ? (rate - slow) % rate : slow;
    const auto fast = levels(f % rate, rate, high, 7);
    CHECK(fast == levels(step, rate, high, 7));
    if (!backwards) continue;
    // Backwards means mirrored: the same clock, high for parts 0 … high-1 seen
    // from the other side.
    const std::int64_t mirrored = (high - 1 - 7 + rate) % rate;
    CHECK(fast == levels(slow, rate, high, mirrored));
  }
}

TEST_CASE(
    "find_aliases: a suspect that looks like the measured clock is named") {
  // 92 MHz at 100 MS/s is seen at 8 MHz.
  const std::vector<Suspect> suspects = {
      suspect_of("the bus oscillator", "92MHz", "50ppm")};
  const auto found = find_aliases(clock_of("8MHz", "30ppm"), suspects,
                                  sampled(8e6, 100 * kMega));
  REQUIRE(found.size() == 1);
  CHECK(found[0].true_hz == Rational(92 * kMega));
  CHECK(found[0].alias.folds == 1);
  CHECK(found[0].ratio == Rational(1));
  CHECK(found[0].residual_ppm == 0.0);
  // Of 8 MHz: 50 ppm of 92, 2 ppm of 92, and 0.1 ppm of 8.
  CHECK(found[0].allowed_ppm == testing::approx(52.0 * 92.0 / 8.0 + 0.1));
  CHECK(alias_warning(found[0]).message ==
        "it may be an alias: the clock comes from the bus oscillator (92 MHz): "
        "92 MHz sampled at 100 MHz is seen at 8 MHz, its distance from the "
        "sample rate; the measured frequency is 0 ppm off that, and up to 598 "
        "ppm would fit; one capture cannot tell: capture again at 96 MHz, "
        "where this would be seen at 4 MHz");
}

TEST_CASE("find_aliases: no further than tolerance, timebase and U reach") {
  const ClockSpec clock = clock_of("8MHz", "30ppm");
  const std::vector<Suspect> suspects = {suspect_of("x", "92MHz", "50ppm")};
  // 598.1 ppm of 8 MHz are 4784.8 Hz: 52e-6 * 92e6 + 0.8.
  CHECK(
      find_aliases(clock, suspects, sampled(8e6 + 4780, 100 * kMega)).size() ==
      1);
  CHECK(
      find_aliases(clock, suspects, sampled(8e6 + 4790, 100 * kMega)).empty());
  // Below half the sample rate it would be seen as it is.
  CHECK(find_aliases(clock, suspects, sampled(8e6, 200 * kMega)).empty());
  // And where the rate is not known nothing is said.
  CHECK(find_aliases(clock, suspects, evidence_of(8e6, 2.0)).empty());
}

TEST_CASE("find_aliases: a corrected timebase moves the sample rate as well") {
  // An instrument 1000 ppm fast takes 100.1 million samples a second; 92 MHz is
  // 8.1 MHz from that.
  const ClockSpec clock = clock_of("8MHz", "30ppm");
  const std::vector<Suspect> suspects = {suspect_of("x", "92MHz", "5ppm")};
  ClockEvidence evidence = sampled(8.1e6, 100 * kMega);
  evidence.timebase.offset = Ppm(1000.0);
  CHECK(find_aliases(clock, suspects, evidence).size() == 1);
  evidence = sampled(8.0e6, 100 * kMega);
  evidence.timebase.offset = Ppm(1000.0);
  CHECK(find_aliases(clock, suspects, evidence).empty());
}

TEST_CASE("find_aliases: the path's source may be straight at the pin") {
  // 24 MHz at 24.75 MS/s is seen at 750 kHz, where 24 MHz / 2 / 16 belongs; no
  // single slip of the path leads there.
  ClockEvidence evidence = sampled(750e3, 24'750'000);
  const ClockSpec clock = clock_of("24MHz / 2 / 16", "30ppm");
  auto found = find_aliases(clock, {}, evidence);
  REQUIRE(found.size() == 1);
  CHECK(found[0].who == "24MHz straight at the pin");
  // And what is between the factors: 12 MHz at 12.75 MS/s.
  evidence = sampled(750e3, 12'750'000);
  found = find_aliases(clock, {}, evidence);
  REQUIRE(!found.empty());
  CHECK(std::any_of(found.begin(), found.end(), [](const AliasCandidate& c) {
    return c.true_hz == Rational(12'000'000);
  }));
}

TEST_CASE("find_aliases: a fast clock beside a slow one is coincidence") {
  // 96 MHz folds to 0 Hz at 24 MHz and, off by 10 ppm, to 1 kHz: of the
  // ±6.7 kHz where it may be seen, 0.1 Hz would pass for 1 kHz ± 50 ppm.
  const ClockSpec tick = clock_of("24MHz * 4 / 96000", "50ppm");
  const ClockEvidence seen = sampled(1000.0, 24 * kMega, 20.0);
  CHECK(find_aliases(tick, {}, seen).empty());
  CHECK(judge_clock(tick, {}, seen).decision == Decision::kPass);
  // 96 MHz / 2 is seen at 0 Hz as well; 3 MHz ± 5 % is no coincidence.
  const ClockSpec wide = clock_of("48MHz / 16", "5%");
  const ClockEvidence fast = sampled(3e6, 17 * kMega);
  CHECK_FALSE(find_aliases(wide, {}, fast).empty());
}

TEST_CASE("find_aliases: every rate that may be is tried") {
  // Reckoned with 47.6 MS/s at most; 48 MHz at 51 MS/s is seen at 3 MHz.
  const ClockSpec clock = clock_of("48MHz / 16", "30ppm");
  ClockEvidence evidence = sampled(3e6, 47'600'000);
  CHECK(find_aliases(clock, {}, evidence).empty());
  evidence.possible_rates_hz = {Rational(510 * kMega), Rational(255 * kMega),
                                Rational(51 * kMega)};
  const auto found = find_aliases(clock, {}, evidence);
  REQUIRE(!found.empty());
  CHECK(found[0].true_hz == Rational(48 * kMega));
  CHECK(found[0].sample_rate_hz == Rational(51 * kMega));
}

TEST_CASE("find_aliases: a slip of the path is looked for as well") {
  // 24 MHz / 2 with the divider missing, at 36 MS/s: 24 is 12 from 36.
  const auto found = find_aliases(clock_of("24MHz / 2", "30ppm"), {},
                                  sampled(12e6, 36 * kMega));
  REQUIRE(found.size() >= 1);
  for (const AliasCandidate& c : found) {
    CHECK(c.true_hz == Rational(24 * kMega));
    REQUIRE(c.second_rate_hz);
    // Derived: at the second rate it is seen elsewhere, or as it is.
    CHECK(*c.seen_then_hz != Rational(12 * kMega));
  }
  CHECK(find_aliases(clock_of("24MHz / 2", "30ppm"), {},
                     sampled(12e6, 100 * kMega))
            .empty());
}

TEST_CASE("telling_rate: at the rate named nothing looks like the clock") {
  constexpr std::uint64_t kSeed = 23;
  INFO("seed ", kSeed);
  std::mt19937_64 random(kSeed);
  int named = 0;
  for (int trial = 0; trial < 60; ++trial) {
    CAPTURE(trial);
    const auto source = static_cast<std::int64_t>(4 + random() % 40) * kMega;
    const auto divider = 1 + random() % 8;
    const ClockSpec clock = clock_of(
        std::to_string(source) + "Hz / " + std::to_string(divider), "30ppm");
    const std::vector<Suspect> suspects = {
        suspect_of("a", std::to_string(8 + random() % 120) + "MHz", "50ppm"),
        suspect_of("b", std::to_string(8 + random() % 120) + "MHz", "1%")};
    const auto rate = telling_rate(clock, suspects, Rational(100 * kMega));
    if (!rate) continue;
    ++named;
    const double f = clock.expect.frequency_hz.to_double();
    CHECK(rate->to_double() >= 4.0 * f);
    for (const Suspect& s : suspects) {
      // By hand: fold by remainder, in integers.
      const std::int64_t fs = static_cast<std::int64_t>(rate->num());
      const std::int64_t hz = static_cast<std::int64_t>(s.frequency_hz.num());
      if (2 * hz < fs) continue;
      const std::int64_t seen = std::min(hz % fs, fs - hz % fs);
      const double tolerance = s.tolerance_ppm.high_ppm.to_double() * 1e-6;
      CHECK(std::abs(static_cast<double>(seen) - f) >
            tolerance * static_cast<double>(hz) + 30e-6 * f);
    }
  }
  CHECK(named > 50);
}

TEST_CASE("judge_clock: what may be an alias does not pass, and is a cause") {
  const ClockSpec clock = clock_of("8MHz", "30ppm");
  CHECK(judge_clock(clock, {}, sampled(8e6, 100 * kMega)).decision ==
        Decision::kPass);
  const Verdict v =
      judge_clock(clock, {suspect_of("the bus oscillator", "92MHz", "50ppm")},
                  sampled(8e6, 100 * kMega));
  CHECK(v.decision == Decision::kUndecided);
  REQUIRE(v.warnings.size() == 1);
  CHECK(v.warnings[0].code == WarningCode::kAliasCandidate);
  CHECK(warning_info(v.warnings[0].code).forbids_pass);
  CHECK(v.reasons.back() ==
        "The figures alone would pass, but a warning forbids it: " +
            v.warnings[0].message + " (alias_candidate).");
  REQUIRE(v.causes.size() == 1);
  CHECK(v.causes[0].cause ==
        "aliasing of 92 MHz at a sample rate of 100 MHz: the clock comes from "
        "the bus oscillator (92 MHz)");
  CHECK(v.causes[0].ratio == "1");
  CHECK(v.causes[0].expected->value() == 8e6);
  CHECK(v.causes[0].settled_by ==
        "capture again at 96 MHz, where this would be seen at 4 MHz");
}

TEST_CASE("judge_clock: an alias explains a failure that nothing else does") {
  // 12 MHz expected, 7.7 MHz seen at 100 MS/s; a suspect of 92.3 MHz.
  const Verdict v = judge_clock(clock_of("12MHz", "30ppm"),
                                {suspect_of("x", "92.3MHz", "50ppm")},
                                sampled(7.7e6, 100 * kMega));
  CHECK(v.decision == Decision::kFail);
  REQUIRE(v.causes.size() == 1);
  CHECK(v.causes[0].cause.starts_with("aliasing of 92.3 MHz"));
  CHECK(v.causes[0].ratio == "77/120");
  // The same with the expected clock: that is no failure.
  const Verdict own = judge_clock(clock_of("92.3MHz", "30ppm"), {},
                                  sampled(7.7e6, 100 * kMega));
  CHECK(own.decision == Decision::kUndecided);
  REQUIRE(own.causes.size() >= 1);
  CHECK(own.causes[0].cause ==
        "aliasing of 92.3 MHz at a sample rate of 100 MHz: the expected clock");
  CHECK(own.causes[0].rank == 1);
}
