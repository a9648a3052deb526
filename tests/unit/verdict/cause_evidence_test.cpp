// SPDX-License-Identifier: GPL-3.0-or-later
#include "verdict/cause_evidence.h"

#include <doctest/doctest.h>

#include <string>

#include "unit/verdict/clock_under_test.h"

namespace clockassay {
namespace {

double weight_of(const CauseFacts& cause, const ClockEvidence& evidence) {
  return weigh_evidence(cause, evidence).factor;
}

ClockEvidence with_character(CharacterKind kind) {
  ClockEvidence evidence = evidence_of(12e6, 2.0);
  evidence.character = OscillatorCharacter{kind, {}};
  return evidence;
}

ClockEvidence beside(const OtherClock& other) {
  ClockEvidence evidence = evidence_of(12e6, 2.0);
  evidence.others = {other};
  return evidence;
}

OtherClock of_same_source(bool is_right, bool agrees,
                          std::size_t shared_factors = 0) {
  // Where they do not agree, by more than a load can do.
  return {"other", true,  shared_factors,          is_right,
          agrees,  Ppm(), Ppm(agrees ? 0.0 : 2e5), Ppm(),
          {}};
}

const CauseFacts kRc{CauseCode::kRcOscillator, 3e4, std::nullopt};
const CauseFacts kLoad{CauseCode::kCrystalOff, 20.0, std::nullopt};
const CauseFacts kFirstDivider{CauseCode::kOffByOne, 20.0, 0};

}  // namespace

TEST_CASE("weigh_evidence: nothing known says nothing") {
  const ClockEvidence evidence = evidence_of(12e6, 2.0);
  CHECK(weight_of(kRc, evidence) == 1.0);
  CHECK(weight_of(kLoad, evidence) == 1.0);
  CHECK(weigh_evidence(kLoad, evidence).sentences.empty());
}

TEST_CASE("weigh_evidence: wander tells sources with a crystal from others") {
  const auto crystal = with_character(CharacterKind::kCrystalLike);
  const auto rc = with_character(CharacterKind::kRcLike);
  CHECK(weight_of(kRc, crystal) < 1.0);
  CHECK(weight_of(kRc, rc) > 1.0);
  CHECK(weight_of(kLoad, rc) < 1.0);
  // A suspect specified to 1.5 % has no crystal; one of 50 ppm has.
  CHECK(weight_of({CauseCode::kOtherSource, 1.5e4, {}}, crystal) < 1.0);
  CHECK(weight_of({CauseCode::kOtherSource, 50.0, {}}, crystal) == 1.0);
  // A ceramic resonator may be as steady, and is no crystal.
  CHECK(weight_of({CauseCode::kRcOscillator, 1.1e4, {}}, crystal) == 1.0);
  CHECK(weight_of({CauseCode::kRcOscillator, 1.1e4, {}}, rc) > 1.0);
  // What the instrument does wanders in no clock.
  CHECK(weight_of({CauseCode::kWrongSampleRate, 20.0, {}}, rc) == 1.0);
  const auto open = with_character(CharacterKind::kCannotTell);
  CHECK(weight_of(kRc, open) == 1.0);
}

TEST_CASE("weigh_evidence: an output that is right clears what both share") {
  const auto right = beside(of_same_source(true, false));
  CHECK(weight_of(kLoad, right) < 0.01);
  CHECK(weight_of(kFirstDivider, right) == 1.0);
  const auto shared = beside(of_same_source(true, false, 1));
  CHECK(weight_of(kFirstDivider, shared) < 0.01);
}

TEST_CASE(
    "weigh_evidence: an output off alike speaks against slips it has not") {
  const auto alike = beside(of_same_source(false, true));
  CHECK(weight_of(kLoad, alike) == 1.0);
  CHECK(weight_of(kFirstDivider, alike) < 1.0);
  CHECK(weight_of(kFirstDivider, beside(of_same_source(false, true, 1))) ==
        1.0);
  // A number mixed up may be in what is stated of the source they share.
  CHECK(weight_of({CauseCode::kNumberMixedUp, 20.0, 0}, alike) == 1.0);
}

TEST_CASE(
    "weigh_evidence: what is off alike and right by a wide limit is mute") {
  const CauseFacts alone{CauseCode::kOutputAlone, 0.0, std::nullopt};
  const CauseFacts time{CauseCode::kTimebaseOff, 0.0, std::nullopt};
  for (const bool same_source : {true, false}) {
    CAPTURE(same_source);
    const auto both =
        beside({"other", same_source, 1, true, true, {}, {}, {}, {}});
    for (const CauseFacts& cause : {kLoad, kFirstDivider, alone, time}) {
      CAPTURE(cause_code_name(cause.code));
      CHECK(weight_of(cause, both) == 1.0);
      CHECK(weigh_evidence(cause, both).sentences.empty());
    }
  }
}

TEST_CASE("weigh_evidence: outputs slightly apart clear their one crystal") {
  // By 60 ppm, which no slip explains; a crystal takes both off alike.
  OtherClock apart = of_same_source(false, false);
  apart.difference = Ppm(60.0);
  CHECK_FALSE(may_be_one_source(beside(apart)));
  const CauseFacts two_sources{CauseCode::kSourceNotShared, 20.0, std::nullopt};
  CHECK(weight_of(two_sources, beside(apart)) == 1.0);
  // Three of four outputs agree: the fourth may be wrong as well.
  ClockEvidence most = beside(of_same_source(false, true));
  most.others.push_back(of_same_source(false, true));
  most.others.push_back(apart);
  CHECK(may_be_one_source(most));
  CHECK(weight_of(kLoad, most) > 0.01);
  CHECK(weight_of(kLoad, most) < 1.0);
  // 20 % apart is a slip of one of them, and the crystal may be off as well.
  CHECK(may_be_one_source(beside(of_same_source(false, false))));
  CHECK(weight_of(kLoad, beside(of_same_source(false, false))) > 0.01);
  // One that is right clears what takes a clock further, and outvoted or not.
  apart.is_right = true;
  CHECK(weight_of({CauseCode::kOtherCrystal, 20.0, {}}, beside(apart)) < 0.01);
}

TEST_CASE("weigh_evidence: two sources off alike are so by their common time") {
  const CauseFacts rate{CauseCode::kWrongSampleRate, 20.0, std::nullopt};
  const auto alike = beside({"other", false, 0, false, true, {}, {}, {}, {}});
  CHECK(weight_of(rate, alike) > 1.0);
  CHECK(weight_of(kLoad, alike) < 1.0);
  const auto right = beside({"other", false, 0, true, false, {}, {}, {}, {}});
  CHECK(weight_of(rate, right) < 0.01);
  CHECK(weight_of(kLoad, right) == 1.0);
}

TEST_CASE(
    "weigh_evidence: what a warning gives reason to name is not weighed") {
  const auto alone = beside({"other", false, 0, true, false, {}, {}, {}, {}});
  CHECK(weight_of({CauseCode::kEdgesMiscounted, 0.0, std::nullopt}, alone) ==
        1.0);
  // Samples are lost on all channels at once: one that is right excludes it.
  CHECK(weight_of({CauseCode::kSamplesLost, 0.0, std::nullopt}, alone) < 0.01);
}

TEST_CASE("weigh_evidence: a toggle has a duty of a half") {
  const CauseFacts halved{CauseCode::kPathHalved, 20.0, 1};
  ClockEvidence evidence = evidence_of(12e6, 2.0);
  evidence.duty = DutyEstimate{0.503, 0.001};
  CHECK(weight_of(halved, evidence) > 1.0);
  evidence.duty = DutyEstimate{0.25, 0.001};
  CHECK(weight_of(halved, evidence) < 1.0);
  evidence.duty = DutyEstimate{0.25, 0.1};
  CHECK(weight_of(halved, evidence) == 1.0);
}

TEST_CASE("weigh_evidence: a modulation that is seen, and one that is not") {
  const CauseFacts spread{CauseCode::kSpreadSpectrum, 0.0, std::nullopt};
  ClockEvidence evidence = with_character(CharacterKind::kSpreadSpectrum);
  evidence.spread = SpreadSpectrum{};
  CHECK(weight_of(spread, evidence) > 1.0);
  CHECK(weight_of(kLoad, evidence) < 1.0);
  CHECK(weight_of(spread, with_character(CharacterKind::kCrystalLike)) < 0.01);
  // A spur may be its line, too weak to be called a spread.
  CHECK(weight_of(spread, with_character(CharacterKind::kPllWithSpur)) == 1.0);
}

TEST_CASE("seen_if_true: every cause says what else to see") {
  const int last = static_cast<int>(CauseCode::kSourceStopped);
  for (int i = 0; i <= last; ++i) {
    const auto code = static_cast<CauseCode>(i);
    CAPTURE(cause_code_name(code));
    CHECK_FALSE(seen_if_true(code).empty());
  }
}

}  // namespace clockassay
