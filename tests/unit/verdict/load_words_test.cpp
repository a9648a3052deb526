// SPDX-License-Identifier: GPL-3.0-or-later
#include "verdict/load_words.h"

#include <doctest/doctest.h>

#include <algorithm>
#include <string>

#include "clockassay/oscillator/crystal_load.h"
#include "unit/verdict/clock_under_test.h"
#include "verdict/requirement_reader.h"

namespace clockassay {
namespace {

const MotionalCrystal kCrystal{Farads(8e-15), Farads(3e-12)};

// 24 MHz on the pin, through a path of 2; 12 pF asked for, two of 15 pF.
ClockSpec loaded_clock() {
  ClockSpec clock = clock_of("24MHz / 2", "10ppm");
  LoadSpec load;
  load.nominal = Farads(12e-12);
  load.capacitors = CapacitorPair{Farads(15e-12), Farads(15e-12)};
  load.c0 = kCrystal.c0;
  load.c1 = kCrystal.c1;
  clock.load = load;
  return clock;
}

double hertz_at(double load_pf) {
  return 12e6 * load_resonance(kCrystal, Farads(load_pf * 1e-12)) /
         load_resonance(kCrystal, Farads(12e-12));
}

Verdict verdict_at(double load_pf, const ClockSpec& clock,
                   const std::vector<Suspect>& suspects = {}) {
  return judge_clock(clock, suspects, evidence_of(hertz_at(load_pf), 2.0));
}

bool has(const std::vector<std::string>& sentences, const std::string& part) {
  return std::any_of(
      sentences.begin(), sentences.end(),
      [&](const std::string& s) { return s.find(part) != std::string::npos; });
}

// Everything a reader of the verdict gets to read.
std::string all_text(const Verdict& v) {
  std::string text;
  for (const std::string& s : v.reasons) text += s + "\n";
  for (const Cause& c : v.causes) text += c.advice + "\n";
  for (const std::string& s : v.advice) text += s + "\n";
  return text;
}

int times_in(const std::string& text, const std::string& part) {
  int n = 0;
  for (std::size_t at = text.find(part); at != std::string::npos;
       at = text.find(part, at + 1)) {
    ++n;
  }
  return n;
}

TEST_CASE("judge_load: too little load, which capacitors, and what then") {
  const Verdict v = verdict_at(9.0, loaded_clock());
  CHECK(v.decision == Decision::kFail);
  REQUIRE(v.load);
  CHECK(v.load->outcome == LoadOutcome::kDiffers);
  REQUIRE(v.reasons.size() == 3);
  // (C1/2)(1/(C0+C) - 1/(C0+12 pF)) is 66.7 ppm at 9 pF; 1.9 and 10 ppm more
  // or less are 8.59 and 9.44 pF. Less 7.5 pF within 5 %: 0.71 to 2.32 pF.
  CHECK(v.reasons[1] ==
        "The load: the crystal sees 9.00 pF (8.59 … 9.44 pF) where 12 pF are "
        "asked for, 3.00 pF too little. In this, the crystal itself may be "
        "off by its make tolerance, ±10 ppm, and the measurement by U. "
        "Assumed, because not stated: capacitors within 5 %.");
  CHECK(v.reasons[2] ==
        "With two of 15 pF fitted that leaves 1.50 pF (0.71 … 2.32 pF) of "
        "stray across the crystal.");
  REQUIRE(v.advice.size() == 1);
  // 11 + 1.5 pF: 4000 ppm pF (1/15.5 - 1/15) = -8.6 ppm.
  CHECK(v.advice[0].rfind("Fit two of 22 pF instead of two of 15 pF: predicted "
                          "-9 ppm (",
                          0) == 0);
  CHECK(has(v.advice,
            "with capacitors within ±5 %. Closer, of unequal "
            "capacitors: 20 pF and 22 pF, predicted "));
  CHECK(has(v.advice, "Then measure again."));
  // How to solder safely is said once.
  CHECK(times_in(all_text(v), "power off") == 1);
  CHECK(times_in(all_text(v), "ESD strap") == 1);
}

TEST_CASE("judge_load: a prediction that may be no better is called that") {
  // 8 ppm fast, just beyond 5 ppm and U. 4.06 pF of stray leave 7.94 pF: two of
  // 16 pF, 1 ppm slow; but capacitors of 5 % leave eight and more either way:
  // 1.96 * 18 ppm/pF * 0.22 pF.
  ClockSpec clock = loaded_clock();
  clock.tolerance.make = band_of("5ppm");
  const Verdict v = verdict_at(11.56, clock);
  REQUIRE(v.load);
  REQUIRE(v.load->fit);
  CHECK_FALSE(v.load->fit->is_sure_to_help);
  CHECK(has(v.advice, "That may turn out no better than it is now"));
  CHECK_FALSE(has(verdict_at(9.0, loaded_clock()).advice, "no better"));
}

TEST_CASE("judge_load: a load that agrees changes nothing") {
  const Verdict v = verdict_at(11.9, loaded_clock());
  CHECK(v.decision == Decision::kPass);
  REQUIRE(v.load);
  CHECK(v.load->outcome == LoadOutcome::kConsistent);
  CHECK(has(v.reasons, "The load agrees with the 12 pF asked for"));
  CHECK(has(v.reasons, "nothing calls for other capacitors"));
  CHECK(v.advice.empty());
}

TEST_CASE("judge_load: no load stated, nothing said") {
  const Verdict v = verdict_at(9.0, clock_of("24MHz / 2", "10ppm"));
  CHECK_FALSE(v.load);
  CHECK_FALSE(has(v.reasons, "load"));
}

TEST_CASE("judge_load: an exact cause goes before the load") {
  // 25 MHz where 24 MHz are expected, and a suspect that says so.
  const ClockSpec clock = loaded_clock();
  const Verdict v =
      judge_clock(clock, {suspect_of("crystal B", "25MHz", "50ppm")},
                  evidence_of(12.5e6, 2.0));
  CHECK_FALSE(v.load);
  CHECK(has(v.reasons, "another cause explains the frequency better"));
  // The same a few ppm off: a suspect of its own 24.001 MHz.
  const Verdict near =
      judge_clock(clock, {suspect_of("crystal C", "24.002MHz", "5ppm")},
                  evidence_of(12.001e6, 2.0));
  CHECK_FALSE(near.load);
  CHECK_FALSE(has(near.advice, "Fit "));
}

TEST_CASE("judge_load: why a requirement is not met is no other cause") {
  // 48e6 / (16 * 3) / 921600 is 8.5 % fast, and the crystal sees 9 pF as well.
  ClockSpec clock = loaded_clock();
  const auto asked = read_requirement_option(
      "uart,clock=48MHz,baud=921600,oversampling=16,frame_bits=10,far_end=1%");
  REQUIRE(asked);
  clock.requirements = {*asked};
  const Verdict v = verdict_at(9.0, clock);
  REQUIRE(v.causes.size() > 1);
  CHECK(v.causes[0].code == CauseCode::kDivisorOff);
  CHECK(v.causes[1].code == CauseCode::kCrystalOff);
  REQUIRE(v.load);
  CHECK(v.load->outcome == LoadOutcome::kDiffers);
  CHECK(has(v.advice, "two of 22 pF instead of two of 15 pF"));
  CHECK_FALSE(has(v.reasons, "another cause explains"));
  // As made, and too loose for an interface: the load is as asked for.
  clock.requirements = {requirement_of("an interface", "2ppm")};
  const Verdict loose =
      judge_clock(clock, {}, evidence_of(12e6 * (1 + 6e-6), 2.0));
  REQUIRE(loose.causes.size() == 1);
  CHECK(loose.causes[0].code == CauseCode::kPartTooLoose);
  CHECK_FALSE(has(loose.reasons, "another cause explains"));
  REQUIRE(loose.load);
  CHECK(loose.load->outcome == LoadOutcome::kConsistent);
}

TEST_CASE("judge_load: beyond the resonances the load is acquitted") {
  // fs and fa: sqrt(1 + 8/3000) and 1 over sqrt(1 + 8/15000).
  ClockSpec clock = loaded_clock();
  const Verdict v = judge_clock(clock, {}, evidence_of(12e6 * 1.0015, 2.0));
  REQUIRE(v.load);
  CHECK(v.load->outcome == LoadOutcome::kNeverTheLoad);
  CHECK(has(v.reasons,
            "The load is not the cause: from none to any, it keeps this "
            "crystal within -267 … +1066 ppm of nominal."));
  CHECK_FALSE(has(v.advice, "Fit "));
}

TEST_CASE("judge_load: a load that is acquitted is no cause") {
  const auto crystal = [](const Verdict& v) {
    for (const Cause& c : v.causes) {
      if (c.code == CauseCode::kCrystalOff) return c;
    }
    FAIL("the crystal is not named");
    return Cause{};
  };
  // 1500 ppm fast: no load does that to this crystal.
  const Cause beyond =
      crystal(judge_clock(loaded_clock(), {}, evidence_of(12e6 * 1.0015, 2.0)));
  CHECK(beyond.cause == "the crystal itself runs fast, and not by its load");
  CHECK(has(beyond.evidence, "No load pulls this crystal that far."));
  CHECK(beyond.advice.find("capacitors") == std::string::npos);
  // 11 ppm fast within U = 1.9 of the 10 it may be: the load agrees.
  const Cause agrees = crystal(
      judge_clock(loaded_clock(), {}, evidence_of(12e6 * 1.000011, 2.0)));
  CHECK(agrees.cause == "the crystal itself runs fast, and not by its load");
  CHECK(agrees.advice.find("capacitors") == std::string::npos);
  // Of 9 pF the load is to blame, and is named.
  const Cause light = crystal(verdict_at(9.0, loaded_clock()));
  CHECK(light.cause.starts_with("the crystal runs fast: load capacitors"));
}

TEST_CASE("judge_load: fast and slow are against limits beside nominal") {
  ClockSpec clock = loaded_clock();
  clock.tolerance.make = band_of("20ppm..40ppm");
  // 5 ppm fast is too slow for them: less load.
  const Verdict slow = judge_clock(clock, {}, evidence_of(12e6 * 1.000005, 2));
  CHECK(slow.decision == Decision::kFail);
  CHECK(has(slow.reasons,
            "the crystal is taken to be made for its middle, +30 ppm at the "
            "load asked for, and that is what is aimed at."));
  CHECK(has(slow.advice, "Fit two of 1"));
  CHECK(all_text(slow).find("larger capacitors") == std::string::npos);
  const auto names = [](const Verdict& v, const std::string& part) {
    return std::any_of(v.causes.begin(), v.causes.end(), [&](const Cause& c) {
      return c.cause.find(part) != std::string::npos;
    });
  };
  CHECK(names(slow, "the crystal runs slow"));
  // 60 ppm fast is too fast for them.
  const Verdict fast = judge_clock(clock, {}, evidence_of(12e6 * 1.00006, 2));
  CHECK(names(fast, "the crystal runs fast"));
  CHECK(all_text(fast).find("larger capacitors") != std::string::npos);
  // The same without a load stated.
  clock.load.reset();
  CHECK(names(judge_clock(clock, {}, evidence_of(12e6 * 1.000005, 2)),
              "the crystal runs slow"));
}

TEST_CASE("judge_load: no soldering on figures that a warning doubts") {
  ClockEvidence evidence = evidence_of(hertz_at(9.0), 2.0);
  evidence.warnings = {{WarningCode::kSeveralStretches, "the clock broke"}};
  const Verdict v = judge_clock(loaded_clock(), {}, evidence);
  CHECK_FALSE(v.load);
  CHECK(has(v.reasons,
            "No load is worked out while the frequency is in "
            "doubt."));
  CHECK_FALSE(has(v.advice, "Fit "));
}

TEST_CASE("judge_load: what is assumed of the crystal is said") {
  ClockSpec clock = loaded_clock();
  clock.load->c0.reset();
  clock.load->c1.reset();
  const Verdict v = verdict_at(9.0, clock);
  REQUIRE(v.load);
  CHECK(has(v.reasons,
            "Assumed, because not stated: C1 from 2 to 30 fF; C0/C1 from 180 "
            "to 500, as of a fundamental AT cut; capacitors within 5 %."));
}

TEST_CASE("judge_load: capacitors that cannot be the stated ones") {
  ClockSpec clock = loaded_clock();
  clock.load->stray_across = Farads(4e-12);
  const Verdict v = verdict_at(9.0, clock);
  CHECK(has(v.reasons,
            "Stated are 4 pF: that does not agree, so other "
            "capacitors may be fitted."));
  CHECK(has(v.advice,
            "First look which capacitors are fitted; if they are as "
            "stated, fit two of 22 pF"));
  clock.load->stray_across.reset();
  clock.load->capacitors = CapacitorPair{Farads(33e-12), Farads(33e-12)};
  const Verdict w = verdict_at(9.0, clock);
  CHECK(has(w.reasons,
            "Less than none: other capacitors are fitted, or the "
            "crystal itself is off."));
  CHECK(has(w.advice, "Look which capacitors are fitted before changing any."));
  clock.load->capacitors.reset();
  const Verdict alone = verdict_at(9.0, clock);
  CHECK(has(alone.advice,
            "The crystal wants 3.00 pF more load: twice that on "
            "each of two equal capacitors."));
}

TEST_CASE("judge_load: capacitors that leave it outside are called that") {
  // 8 pF asked for, and 9 pF are there without any: -30 ppm at the least.
  ClockSpec clock = loaded_clock();
  clock.load->nominal = Farads(8e-12);
  const auto at = [&clock](double load_pf) {
    const double hertz = 12e6 *
                         load_resonance(kCrystal, Farads(load_pf * 1e-12)) /
                         load_resonance(kCrystal, Farads(8e-12));
    return judge_clock(clock, {}, evidence_of(hertz, 2.0));
  };
  const Verdict none = at(16.5);
  CHECK(has(none.advice,
            "Fit no capacitors instead of two of 15 pF: predicted -30 ppm ("));
  CHECK(has(none.advice,
            "That is still outside the limits, ±10 ppm: change the stray, or "
            "take a crystal for another load."));
  // 7.5 pF of stray: two of 1 pF are right, and none is 17 ppm fast.
  const Verdict few = at(15.0);
  CHECK(has(few.advice, "Fit two of 1 pF instead of two of 15 pF: predicted "));
  CHECK(has(few.advice, "Without any: predicted +17 ppm ("));
  CHECK_FALSE(has(few.advice, "still outside"));
}

}  // namespace
TEST_CASE("judge_load: outputs that are off each otherwise ask for no part") {
  // +60 ppm beside two outputs of the crystal that are 60 ppm slow.
  ClockEvidence evidence = evidence_of(12e6 * (1 + 60e-6), 2.0);
  OtherClock other;
  other.name = "c1";
  other.same_source = true;
  other.error = Ppm(-60.0);
  other.difference = Ppm(120.0);
  other.expected_hz = Rational(2'000'000);
  evidence.others = {other, other};
  const Verdict verdict = judge_clock(loaded_clock(), {}, evidence);
  CHECK_FALSE(verdict.load);
  CHECK(has(verdict.reasons,
            "outputs of this source are off by different ratios"));
  bool is_alone = false;
  for (const Cause& cause : verdict.causes) {
    is_alone = is_alone || cause.code == CauseCode::kOutputAlone;
    CHECK(cause.advice.find("larger capacitors") == std::string::npos);
  }
  CHECK(is_alone);
  // One that is off alike bears the crystal out.
  evidence.others[0].agrees = evidence.others[1].agrees = true;
  evidence.others[0].error = evidence.others[1].error = Ppm(60.0);
  CHECK(judge_clock(loaded_clock(), {}, evidence).load);
}

}  // namespace clockassay
