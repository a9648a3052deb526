// SPDX-License-Identifier: GPL-3.0-or-later
#include "verdict/causes.h"

#include <doctest/doctest.h>

#include <algorithm>
#include <string>

#include "support/approx.h"
#include "unit/verdict/clock_under_test.h"

namespace clockassay {
namespace {

Diagnosis diagnose_pin(const ClockSpec& clock,
                       const std::vector<Suspect>& suspects, double hertz,
                       double timebase_ppm) {
  const ClockEvidence evidence = evidence_of(hertz, timebase_ppm);
  Diagnosis d = diagnose(
      clock, suspects, evidence,
      measured_error(evidence.budget, clock.expect.frequency_hz.to_double()));
  say_ambiguous(d.causes);
  return d;
}

const Cause* find_cause(const Diagnosis& diagnosis, std::string_view words) {
  for (const Cause& cause : diagnosis.causes) {
    if (cause.cause.find(words) != std::string::npos) return &cause;
  }
  return nullptr;
}

bool has_rank_alone(const Diagnosis& diagnosis, int rank) {
  return std::count_if(diagnosis.causes.begin(), diagnosis.causes.end(),
                       [&](const Cause& c) { return c.rank == rank; }) == 1;
}

bool says_ambiguous(const Cause& cause) {
  for (const std::string& line : cause.evidence) {
    if (line.starts_with("Ambiguous: ")) return true;
  }
  return false;
}

TEST_CASE("diagnose: the former crystal still in effect comes first") {
  // 24 MHz / 2 expected, 8 MHz + 20 ppm at the pin: 16 MHz / 2 within 50 ppm.
  const Diagnosis d =
      diagnose_pin(clock_of("24MHz / 2", "30ppm"),
                   {suspect_of("the former crystal", "16MHz", "50ppm"),
                    suspect_of("internal RC oscillator", "12MHz", "1.5%")},
                   8e6 * (1 + 20e-6), 2.0);
  REQUIRE(!d.causes.empty());
  const Cause& first = d.causes[0];
  CHECK(first.cause == "the clock comes from the former crystal (16 MHz)");
  CHECK(first.ratio == "2/3");
  CHECK(first.expected->value() == 8e6);
  CHECK(first.residual->value() == testing::approx(20.0).epsilon(1e-6));
  REQUIRE(first.evidence.size() >= 2);
  CHECK(first.evidence[0] ==
        "16 MHz / 2 gives 8 MHz; measured 8.00016 MHz, 20.0 ppm above that. "
        "Its source is allowed ±50 ppm, U = 1.9 ppm.");
  CHECK(first.evidence[1] ==
        "On the intended path the measured frequency means a source of "
        "16.00032 MHz; the ratio to the intended one is 2/3.");
  CHECK(!first.advice.empty());
  CHECK(!first.settled_by.empty());
}

TEST_CASE("diagnose: the same ratio from source and divider stays ambiguous") {
  // 16 MHz / 3 expected, 8 MHz at the pin, 3/2 of it: a 24 MHz crystal, or a
  // divider of 2.
  const Diagnosis d = diagnose_pin(
      clock_of("16MHz / 3", "30ppm"),
      {suspect_of("the new crystal", "24MHz", "30ppm")}, 8e6 * (1 + 5e-6), 2.0);
  const Cause* source = find_cause(d, "the new crystal (24 MHz)");
  const Cause* divider = find_cause(d, "divider 3 counted as 2");
  REQUIRE(source != nullptr);
  REQUIRE(divider != nullptr);
  CHECK(source->ratio == "3/2");
  CHECK(divider->ratio == "3/2");
  CHECK(source->rank == 1);
  CHECK(divider->rank == 1);
  CHECK(says_ambiguous(*source));
  CHECK(says_ambiguous(*divider));
}

TEST_CASE("diagnose: an off-by-one divider is named, either way") {
  // 48 MHz / 100 = 480 kHz; 99 gives +10101 ppm, 101 gives -9901 ppm.
  const ClockSpec clock = clock_of("48MHz / 100", "30ppm");
  const Diagnosis less = diagnose_pin(clock, {}, 48e6 / 99, 2.0);
  REQUIRE(less.causes.size() == 1);
  CHECK(less.causes[0].cause == "divider 100 counted as 99 (off by one)");
  CHECK(less.causes[0].ratio == "100/99");
  CHECK_FALSE(says_ambiguous(less.causes[0]));
  const Diagnosis more = diagnose_pin(clock, {}, 48e6 / 101, 2.0);
  REQUIRE(more.causes.size() == 1);
  CHECK(more.causes[0].ratio == "100/101");
}

TEST_CASE("diagnose: a missing factor and a doubled path are named") {
  const ClockSpec clock = clock_of("8MHz * 9 / 5", "30ppm");
  const Diagnosis missing = diagnose_pin(clock, {}, 8e6 * 9, 2.0);
  REQUIRE(!missing.causes.empty());
  CHECK(missing.causes[0].cause == "divider 5 missing");
  const Diagnosis half = diagnose_pin(clock, {}, 7.2e6, 2.0);
  REQUIRE(!half.causes.empty());
  CHECK(half.causes[0].ratio == "1/2");
}

TEST_CASE("diagnose: a few ppm off is the crystal and its load") {
  const Diagnosis fast =
      diagnose_pin(clock_of("24MHz / 2", "30ppm"), {}, 12e6 * (1 + 60e-6), 2.0);
  REQUIRE(!fast.causes.empty());
  CHECK(fast.causes[0].code == CauseCode::kCrystalOff);
  CHECK(has_rank_alone(fast, 1));
  CHECK(fast.causes[0].cause ==
        "the crystal runs fast: load capacitors too small, or the part itself "
        "is off");
  CHECK(fast.causes[0].ratio.empty());
  CHECK(fast.causes[0].advice.find("larger capacitors") != std::string::npos);
  CHECK(fast.causes[0].advice.find("power off") != std::string::npos);
  const Diagnosis slow =
      diagnose_pin(clock_of("24MHz / 2", "30ppm"), {}, 12e6 * (1 - 60e-6), 2.0);
  REQUIRE(!slow.causes.empty());
  CHECK(slow.causes[0].code == CauseCode::kCrystalOff);
  CHECK(slow.causes[0].advice.find("smaller capacitors") != std::string::npos);
}

TEST_CASE("diagnose: load capacitors are never blamed beyond 3000 ppm") {
  const ClockSpec clock = clock_of("24MHz / 2", "30ppm");
  CHECK(find_cause(diagnose_pin(clock, {}, 12e6 * (1 + 2990e-6), 2.0),
                   "load capacitors") != nullptr);
  for (const double ppm : {3010.0, -3010.0, 20000.0}) {
    CAPTURE(ppm);
    const Diagnosis d = diagnose_pin(clock, {}, 12e6 * (1 + ppm * 1e-6), 2.0);
    CHECK(find_cause(d, "load capacitors") == nullptr);
    CHECK(d.nearest.starts_with("Nothing exact explains it. The nearest is"));
  }
}

TEST_CASE("diagnose: an exact divider and a load error stay ambiguous") {
  // 16 MHz / 16000: one more is -62.5 ppm, which a crystal may be off as well.
  const Diagnosis d =
      diagnose_pin(clock_of("16MHz / 16000", "20ppm"), {}, 16e6 / 16001, 2.0);
  const Cause* divider = find_cause(d, "divider 16000 counted as 16001");
  const Cause* load = find_cause(d, "the crystal runs slow");
  REQUIRE(divider != nullptr);
  REQUIRE(load != nullptr);
  CHECK(divider->rank == 1);
  CHECK(load->rank == 1);
  CHECK(says_ambiguous(*divider));
}

TEST_CASE("diagnose: an exact divider beats a load error nobody sees") {
  // 1 MHz / 1000: one more is -999 ppm, possible for a load but far from usual.
  // The 1000/1001 of video rates is the same figure: no capture tells.
  const Diagnosis d =
      diagnose_pin(clock_of("1MHz / 1000", "20ppm"), {}, 1e6 / 1001, 2.0);
  REQUIRE(d.causes.size() >= 2);
  CHECK(d.causes[0].cause == "divider 1000 counted as 1001 (off by one)");
  CHECK(d.causes[0].rank == 1);
  CHECK(says_ambiguous(d.causes[0]));
  CHECK(d.causes[1].code == CauseCode::kNumberMixedUp);
  CHECK(d.causes[1].rank == 1);
  const Cause* load = find_cause(d, "the crystal runs slow");
  if (load != nullptr) CHECK(load->rank > 1);
}

TEST_CASE("diagnose: no exact figure stands alone where a load may be") {
  // 16 MHz from 488 times 32.768 kHz: -576 ppm; a divider of 4000: -250 ppm.
  // Both are within the 600 ppm that a load usually does.
  const Diagnosis loop = diagnose_pin(clock_of("16MHz / 2", "10ppm"), {},
                                      488.0 * 32768.0 / 2.0, 2.0);
  REQUIRE(find_cause(loop, "488 times 32.768 kHz") != nullptr);
  CHECK(find_cause(loop, "488 times 32.768 kHz")->rank == 1);
  REQUIRE(find_cause(loop, "the crystal runs slow") != nullptr);
  CHECK(find_cause(loop, "the crystal runs slow")->rank == 1);
  const Diagnosis divider =
      diagnose_pin(clock_of("16MHz / 4000", "10ppm"), {}, 16e6 / 4001, 2.0);
  REQUIRE(find_cause(divider, "4000 counted as 4001") != nullptr);
  CHECK(find_cause(divider, "4000 counted as 4001")->rank == 1);
  REQUIRE(find_cause(divider, "the crystal runs slow") != nullptr);
  CHECK(find_cause(divider, "the crystal runs slow")->rank == 1);
}

TEST_CASE("diagnose: figures closer than U have one rank") {
  // 1001/1000 and 1000/999 are 1 ppm apart; U is 1.9 ppm, then 0.2.
  const auto ranks = [](double timebase_ppm) {
    const Diagnosis d = diagnose_pin(clock_of("1MHz / 1000", "20ppm"), {},
                                     1e6 / 999, timebase_ppm);
    const Cause* one_less = find_cause(d, "divider 1000 counted as 999");
    const Cause* video = find_cause(d, "the 1001/1000 of video rates");
    REQUIRE(one_less != nullptr);
    REQUIRE(video != nullptr);
    CHECK(one_less->rank == 1);
    return video->rank;
  };
  CHECK(ranks(2.0) == 1);
  CHECK(ranks(0.2) > 1);
}

TEST_CASE("diagnose: a wide source that fits by chance ranks behind") {
  // Both name 16 MHz; 20 ppm off is no surprise within 50 ppm and one in
  // hundreds within 1.5 %.
  const Diagnosis d =
      diagnose_pin(clock_of("24MHz / 2", "30ppm"),
                   {suspect_of("internal RC oscillator", "16MHz", "1.5%"),
                    suspect_of("the former crystal", "16MHz", "50ppm")},
                   8e6 * (1 + 20e-6), 2.0);
  REQUIRE(d.causes.size() >= 2);
  CHECK(d.causes[0].cause ==
        "the clock comes from the former crystal (16 MHz)");
  CHECK(d.causes[0].rank == 1);
  CHECK(find_cause(d, "internal RC oscillator")->rank == 2);
}

TEST_CASE("diagnose: two slips rank behind one, and alone they come first") {
  // 24 MHz / 4 expected, suspect 16 MHz: 16 / 3 = 5.333 MHz needs both.
  const ClockSpec clock = clock_of("24MHz / 4", "30ppm");
  const std::vector<Suspect> suspects{
      suspect_of("the former crystal", "16MHz", "50ppm")};
  const Diagnosis both = diagnose_pin(clock, suspects, 16e6 / 3, 2.0);
  REQUIRE(!both.causes.empty());
  CHECK(both.causes[0].cause ==
        "the clock comes from the former crystal (16 MHz), and divider 4 "
        "counted as 3 (off by one)");
  CHECK(both.causes[0].rank == 1);
  // 4 MHz: the suspect on the right path is one slip and comes first.
  const Diagnosis one = diagnose_pin(clock, suspects, 4e6, 2.0);
  REQUIRE(!one.causes.empty());
  CHECK(one.causes[0].rank == 1);
  CHECK(one.causes[0].cause ==
        "the clock comes from the former crystal (16 MHz)");
  for (const Cause& cause : one.causes) {
    if (cause.cause.find(", and ") != std::string::npos) {
      CHECK(cause.rank > 1);
    }
  }
}

TEST_CASE("diagnose: two slips that would fit nearly anything are left out") {
  // 60 ppm off 24 MHz / 2; a 12 MHz RC oscillator of 1.5 % with the divider
  // missing gives 12 MHz too.
  const Diagnosis d =
      diagnose_pin(clock_of("24MHz / 2", "30ppm"),
                   {suspect_of("internal RC oscillator", "12MHz", "1.5%")},
                   12e6 * (1 + 60e-6), 2.0);
  CHECK(find_cause(d, "the crystal runs fast") != nullptr);
  CHECK(find_cause(d, ", and ") == nullptr);
}

TEST_CASE("diagnose: among equals a suspect somebody named is listed first") {
  // 16 MHz / 2 and 24 MHz / 3 are both 8 MHz; the suspect's narrower tolerance
  // alone would list it second.
  const Diagnosis d =
      diagnose_pin(clock_of("24MHz / 2", "100ppm"),
                   {suspect_of("the former crystal", "16MHz", "30ppm")},
                   8e6 * (1 + 20e-6), 2.0);
  REQUIRE(d.causes.size() == 2);
  CHECK(d.causes[0].cause ==
        "the clock comes from the former crystal (16 MHz)");
  CHECK(d.causes[1].cause == "divider 2 counted as 3 (off by one)");
  CHECK(d.causes[0].rank == 1);
  CHECK(d.causes[1].rank == 1);
}

TEST_CASE("diagnose: fits at U and the tolerance together, not beyond") {
  // Timebase 2 ppm (U = 1.9 and a little for the capture), source 50 ppm.
  const ClockSpec clock = clock_of("24MHz / 2", "30ppm");
  const std::vector<Suspect> suspects{
      suspect_of("the former crystal", "16MHz", "50ppm")};
  const char* former = "the former crystal (16 MHz)";
  const Diagnosis within =
      diagnose_pin(clock, suspects, 8e6 * (1 + 51.8e-6), 2.0);
  REQUIRE(find_cause(within, former) != nullptr);
  CHECK(find_cause(within, former)->rank == 1);
  CHECK(within.nearest.empty());
  const Diagnosis beyond =
      diagnose_pin(clock, suspects, 8e6 * (1 + 52.2e-6), 2.0);
  CHECK(find_cause(beyond, former) == nullptr);
}

TEST_CASE("diagnose: a slip shows beside an output that is off itself") {
  // 24 MHz / 99 by a crystal 61 ppm fast and a divider of 100: in all 61 ppm
  // above the slip's figure, beyond 20 + 1.9 ppm, but none beside another
  // output of that crystal.
  const ClockSpec clock = clock_of("24MHz / 99", "20ppm");
  ClockEvidence evidence = evidence_of(24e6 / 100 * (1 + 61e-6), 2.0);
  const MeasuredError error =
      measured_error(evidence.budget, clock.expect.frequency_hz.to_double());
  CHECK(find_cause(diagnose(clock, {}, evidence, error), "counted as 100") ==
        nullptr);
  // 99 / 100 apart.
  OtherClock other{"clock output", true,      0,        false,   false,
                   Ppm(61.0),      Ppm(-1e4), Ppm(0.2), 12000000};
  evidence.others = {other};
  const Diagnosis d = diagnose(clock, {}, evidence, error);
  REQUIRE(!d.causes.empty());
  CHECK(d.causes[0].cause == "divider 99 counted as 100 (off by one)");
  CHECK(d.causes[0].evidence[0].starts_with("Beside \"clock output\""));
  CHECK(d.nearest.empty());
  // Both pass a divider they share: that cannot explain it.
  evidence.others[0].shared_factors = 1;
  CHECK(find_cause(diagnose(clock, {}, evidence, error), "counted as 100") ==
        nullptr);
}

/// Like those a clock of 48 MHz shows that is spread by 0.5 %.
SpreadSpectrum seen_spread(double mean_hz) {
  return {Hertz(31e3),
          Hertz(1.0),
          Ppm(5000.0),
          Ppm(5.0),
          SpreadProfile::kTriangle,
          Hertz(mean_hz * (1 - 2.5e-3)),
          Hertz(mean_hz * (1 + 2.5e-3))};
}

Diagnosis diagnose_spread(double hertz) {
  const ClockSpec clock = clock_of("24MHz * 2", "30ppm");
  ClockEvidence evidence = evidence_of(hertz, 2.0);
  evidence.character = OscillatorCharacter{CharacterKind::kSpreadSpectrum, {}};
  evidence.spread = seen_spread(hertz);
  return diagnose(clock, {}, evidence, measured_error(evidence.budget, 48e6));
}

TEST_CASE(
    "diagnose: a spread that is seen explains a mean half its depth low") {
  // Without it, 2500 ppm slow is more than one thing.
  CHECK_FALSE(has_rank_alone(diagnose_pin(clock_of("24MHz * 2", "30ppm"), {},
                                          48e6 * (1 - 2500e-6), 2.0),
                             1));
  const Diagnosis d = diagnose_spread(48e6 * (1 - 2510e-6));
  REQUIRE(!d.causes.empty());
  CHECK(d.causes[0].code == CauseCode::kSpreadSpectrum);
  CHECK(has_rank_alone(d, 1));
  CHECK(d.nearest.empty());
  CHECK(d.causes[0].evidence[0].ends_with(
      "the expected one is the upper end, and the mean is half the depth below "
      "it."));
}

TEST_CASE("diagnose: a spread explains no mean beyond its reach") {
  // Two thirds of what is expected, and spread as well.
  const Diagnosis d = diagnose_spread(32e6);
  REQUIRE(!d.causes.empty());
  CHECK(d.causes[0].code != CauseCode::kSpreadSpectrum);
  CHECK(find_cause(d, "spread spectrum") == nullptr);
  // Off by more than half its depth it is named, and does not come alone.
  const Diagnosis slow = diagnose_spread(48e6 * (1 - 4000e-6));
  const Cause* spread = find_cause(slow, "spread spectrum");
  REQUIRE(spread != nullptr);
  CHECK(spread->evidence[0].ends_with(
      "that the mean is off so far it does not explain."));
}

TEST_CASE("diagnose: wander as of no crystal raises the RC oscillator") {
  const ClockSpec clock = clock_of("12MHz", "30ppm");
  const auto causes_with = [&](std::optional<CharacterKind> kind) {
    ClockEvidence evidence = evidence_of(12e6 * (1 + 400e-6), 2.0);
    if (kind) evidence.character = OscillatorCharacter{*kind, {}};
    return diagnose(clock, {}, evidence, measured_error(evidence.budget, 12e6));
  };
  const auto rank_of = [](const Diagnosis& d, CauseCode code) {
    const auto found =
        std::find_if(d.causes.begin(), d.causes.end(),
                     [code](const Cause& c) { return c.code == code; });
    return found == d.causes.end() ? 99 : found->rank;
  };
  // 400 ppm from wrong capacitors is the likelier, nothing else being known.
  const Diagnosis open = causes_with(std::nullopt);
  CHECK(rank_of(open, CauseCode::kCrystalOff) == 1);
  CHECK(rank_of(open, CauseCode::kRcOscillator) > 1);
  const Diagnosis rc = causes_with(CharacterKind::kRcLike);
  CHECK(rank_of(rc, CauseCode::kRcOscillator) == 1);
  const Diagnosis crystal = causes_with(CharacterKind::kCrystalLike);
  CHECK(rank_of(crystal, CauseCode::kCrystalOff) == 1);
  CHECK(rank_of(crystal, CauseCode::kRcOscillator) >=
        rank_of(open, CauseCode::kRcOscillator));
}

TEST_CASE(
    "diagnose: a suspect and a slip show beside an output of the suspect") {
  // 24 MHz expected, 20 MHz fitted and 12 ppm fast: another output is 5/6 and
  // 10 ppm of what it should be. This one has a divider of 8 that counts 7.
  const double fitted = 20e6 * (1.0 + 12e-6);
  const ClockSpec clock = clock_of("24MHz / 8", "30ppm");
  ClockEvidence evidence = evidence_of(fitted / 7, 5.0);
  evidence.others = {{"clock output", true, 0, false, false,
                      Ppm((fitted / 24e6 - 1.0) * 1e6), Ppm(1e6 / 7), Ppm(0.2),
                      24000000}};
  const MeasuredError error =
      measured_error(evidence.budget, clock.expect.frequency_hz.to_double());
  const Diagnosis d =
      diagnose(clock, {suspect_of("the former crystal", "20MHz", "50ppm")},
               evidence, error);
  const Cause* both = find_cause(d, "the former crystal (20 MHz), and divider");
  REQUIRE(both != nullptr);
  CHECK(both->rank == 1);
  CHECK(both->ratio == "20/21");
  const Cause* slip = find_cause(d, "divider 8 counted as 7 (off by one)");
  REQUIRE(slip != nullptr);
  CHECK(slip->rank == 1);
  // A suspect that does not explain the figure is not drawn in.
  const Diagnosis other =
      diagnose(clock, {suspect_of("the former crystal", "25MHz", "50ppm")},
               evidence, error);
  CHECK(find_cause(other, "the former crystal") == nullptr);
}

TEST_CASE("diagnose: a divider set otherwise is named with its number") {
  // 16 / 3: nothing off by one, missing or twice.
  const Diagnosis d =
      diagnose_pin(clock_of("24MHz / 16", "10ppm"), {}, 24e6 / 3, 2.0);
  const Cause* other = find_cause(d, "divider 16 is 3");
  REQUIRE(other != nullptr);
  CHECK(other->code == CauseCode::kOtherFactor);
  CHECK(other->ratio == "16/3");
  CHECK(other->rank == 1);
  // 1/5 is a rate mixed up as well: the same figure, the same rank.
  const Diagnosis fifth =
      diagnose_pin(clock_of("24MHz / 2", "10ppm"), {}, 24e6 / 10, 2.0);
  REQUIRE(find_cause(fifth, "divider 2 is 10") != nullptr);
  CHECK(find_cause(fifth, "divider 2 is 10")->rank == 1);
  REQUIRE(find_cause(fifth, "sample rate or unit of time is 1/5") != nullptr);
  CHECK(find_cause(fifth, "sample rate or unit of time is 1/5")->rank == 1);
}

TEST_CASE("diagnose: a divider that counts n and n + 1 in turns is seen so") {
  // 24 MHz / 1000 of 1000 and 1001 counts: periods 41.67 ns apart, 20.83 ns off
  // their mean, through a window of 10 ns.
  const ClockSpec clock = clock_of("24MHz / 1000", "10ppm");
  ClockEvidence evidence = evidence_of(24e6 / 1000.5, 2.0);
  evidence.window = Seconds(10e-9);
  evidence.jitter = Jitter{};
  evidence.jitter->period_rms = Seconds(20.83e-9);
  evidence.jitter->cycle_to_cycle_rms = Seconds(41.67e-9);
  const auto found = [&] {
    const Diagnosis d = diagnose(
        clock, {}, evidence,
        measured_error(evidence.budget, clock.expect.frequency_hz.to_double()));
    const Cause* turns =
        find_cause(d, "divider 1000 counted as 1000 and 1001 in turns");
    return turns != nullptr && turns->rank == 1 && turns->ratio == "2000/2001";
  };
  CHECK(found());
  // Edges that jitter by themselves: the root of 3.
  evidence.jitter->period_rms = Seconds(41.67e-9 / 1.732);
  CHECK_FALSE(found());
  // In turns, but not by one count.
  evidence.jitter->period_rms = Seconds(60e-9);
  evidence.jitter->cycle_to_cycle_rms = Seconds(120e-9);
  CHECK_FALSE(found());
}

TEST_CASE("diagnose: unseen spread spectrum does not make a clock fast") {
  const ClockSpec clock = clock_of("24MHz / 2", "30ppm");
  const Diagnosis slow = diagnose_pin(clock, {}, 12e6 * (1 - 2500e-6), 2.0);
  const Diagnosis fast = diagnose_pin(clock, {}, 12e6 * (1 + 2500e-6), 2.0);
  REQUIRE(find_cause(slow, "spread spectrum") != nullptr);
  CHECK(find_cause(slow, "spread spectrum")->rank == 1);
  CHECK(find_cause(fast, "spread spectrum") == nullptr);
}

}  // namespace
}  // namespace clockassay
