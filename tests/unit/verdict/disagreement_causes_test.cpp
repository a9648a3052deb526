// SPDX-License-Identifier: GPL-3.0-or-later
#include "verdict/disagreement_causes.h"

#include <doctest/doctest.h>

#include <algorithm>
#include <cmath>
#include <string>
#include <vector>

#include "unit/verdict/clock_under_test.h"

namespace clockassay {
namespace {

/// Another right output of the source, `ppm` off and known to 0.2 ppm beside
/// the clock that is judged. How far apart they are is judge_beside()'s.
OtherClock output(std::string name, double ppm, bool agrees,
                  std::size_t shared_factors = 0) {
  return {std::move(name), true,  shared_factors, true,    agrees,
          Ppm(ppm),        Ppm(), Ppm(0.2),       12000000};
}

Verdict judge_beside(std::string_view expect, double hertz,
                     std::vector<OtherClock> others,
                     std::string_view make = "100ppm") {
  const ClockSpec clock = clock_of(expect, make);
  const double ratio = hertz / clock.expect.frequency_hz.to_double();
  for (OtherClock& other : others) {
    other.difference = Ppm(
        (ratio / (1.0 + other.error.value() * 1e-6) / other.slip.to_double() -
         1.0) *
        1e6);
  }
  ClockEvidence evidence = evidence_of(hertz, 2.0);
  evidence.others = std::move(others);
  return judge_clock(clock, {}, evidence);
}

std::vector<std::string> codes_at(const Verdict& v, int rank) {
  std::vector<std::string> codes;
  for (const Cause& cause : v.causes) {
    if (cause.rank == rank) codes.emplace_back(cause_code_name(cause.code));
  }
  return codes;
}

bool any_has(const std::vector<std::string>& lines, std::string_view words) {
  return std::any_of(lines.begin(), lines.end(), [&](const std::string& line) {
    return line.find(words) != std::string::npos;
  });
}

}  // namespace

TEST_CASE("judge_clock: a slip within the tolerance shows beside an output") {
  // 16 MHz / 16001 for 16000 is -62.5 ppm: within 100, and none beside an
  // output of the same source that is 7 ppm fast like the source.
  const Verdict v = judge_beside("16MHz / 16000", 16e6 * (1 + 7e-6) / 16001,
                                 {output("b", 7.0, false)});
  CHECK(v.checks[0].decision == Decision::kPass);
  CHECK(v.decision == Decision::kUndecided);
  CHECK(codes_at(v, 1) == std::vector<std::string>{"off_by_one"});
  CHECK(codes_at(v, 2) ==
        std::vector<std::string>{"output_alone", "source_not_shared"});
  REQUIRE(!v.causes.empty());
  CHECK(v.causes[0].ratio == "16000/16001");
  CHECK(std::abs(v.causes[0].residual->value()) < 0.001);
  CHECK(any_has(v.causes[0].evidence,
                "This clock is 62.50 ppm below what \"b\" makes of their "
                "source, where 0.20 ppm are not known"));
}

TEST_CASE("judge_clock: outputs apart by no slip are behind it or have two") {
  const Verdict v =
      judge_beside("24MHz / 2", 12e6 * (1 + 30e-6), {output("b", 0.0, false)});
  CHECK(v.decision == Decision::kUndecided);
  CHECK(codes_at(v, 1) ==
        std::vector<std::string>{"output_alone", "source_not_shared"});
  CHECK(any_has(v.causes[0].evidence, "Ambiguous: "));
  // Another capture shows the same again.
  CHECK_FALSE(any_has(v.advice, "higher sample rate"));
  CHECK(any_has(v.advice, "Find out which of the outputs is off"));
}

TEST_CASE("judge_clock: a slip is named beside every right output or not") {
  const double slipped = 16e6 / 16001;
  const auto first = [&](const OtherClock& third) {
    const Verdict v = judge_beside("16MHz / 16000", slipped,
                                   {output("b", 0.0, false), third});
    REQUIRE(!v.causes.empty());
    return std::string(cause_code_name(v.causes[0].code));
  };
  CHECK(first(output("c", 0.0, false)) == "off_by_one");
  // It passes the same divider, and is off alike.
  CHECK(first(output("c", -62.496, true, 1)) == "off_by_one");
  // It does not, and is off alike all the same.
  CHECK(first(output("c", -62.496, true)) == "output_alone");
}

TEST_CASE("judge_clock: what is hardly known apart is told by no slip") {
  OtherClock vague = output("b", 0.0, false);
  vague.allowed = Ppm(30.0);
  const Verdict v = judge_beside("16MHz / 16000", 16e6 / 16001, {vague});
  CHECK(codes_at(v, 1).size() >= 3);
  CHECK(codes_at(v, 2).empty());
}

TEST_CASE("judge_clock: an output that is off itself makes no disagreement") {
  OtherClock off = output("b", 500.0, false);
  off.is_right = false;
  const Verdict v = judge_beside("24MHz / 2", 12e6, {off});
  CHECK(v.decision == Decision::kPass);
  CHECK(v.causes.empty());
}

TEST_CASE(
    "judge_clock: of outputs all off, slightly apart, none has a crystal") {
  // One crystal takes all of its outputs off alike. +60 ppm beside +140, where
  // 20 are allowed: two sources, or a fault behind the point where they part.
  OtherClock off = output("b", 140.0, false);
  off.is_right = false;
  const Verdict v =
      judge_beside("24MHz / 2", 12e6 * (1 + 60e-6), {off}, "20ppm");
  CHECK(v.decision == Decision::kFail);
  CHECK(codes_at(v, 1) ==
        std::vector<std::string>{"source_not_shared", "output_alone"});
  REQUIRE(!v.causes.empty());
  CHECK(any_has(v.causes[0].evidence, "79.99 ppm below"));
  for (const Cause& cause : v.causes) {
    CHECK(cause.code != CauseCode::kCrystalOff);
    CHECK(cause.advice.find("capacitors") == std::string::npos);
  }
}

TEST_CASE("judge_clock: what is right is no pass where it is outvoted") {
  // Three outputs 100 ppm fast say what their crystal does; the fourth is right
  // and of another source, or behind another fault.
  OtherClock off = output("b", 100.0, false);
  off.is_right = false;
  const Verdict v = judge_beside("24MHz / 2", 12e6, {off, off, off});
  CHECK(v.decision == Decision::kUndecided);
  CHECK(codes_at(v, 1) ==
        std::vector<std::string>{"output_alone", "source_not_shared"});
  // One against one: what is off is at fault.
  CHECK(judge_beside("24MHz / 2", 12e6, {off}).decision == Decision::kPass);
}

TEST_CASE("judge_clock: a slip of another output is divided out") {
  // Exactly 4/5, which is a crystal that is right; this one is 100 ppm fast.
  OtherClock slipped = output("b", -2e5, false);
  slipped.is_right = false;
  slipped.slip = Rational::make(5, 4).value();
  const Verdict v =
      judge_beside("24MHz / 2", 12e6 * (1 + 100e-6), {slipped}, "20ppm");
  CHECK(codes_at(v, 1) ==
        std::vector<std::string>{"source_not_shared", "output_alone"});
  REQUIRE(!v.causes.empty());
  CHECK(any_has(v.causes[0].evidence, "Beyond a ratio of 5/4 this clock"));
}

TEST_CASE("judge_clock: a slip of another output leaves the crystal off") {
  // +60 ppm beside an output at two thirds of that: the crystal is off, and the
  // other has a fault of its own.
  OtherClock off = output("b", (2.0 / 3.0 * (1 + 60e-6) - 1.0) * 1e6, false);
  off.is_right = false;
  off.slip = Rational::make(3, 2).value();
  const Verdict v =
      judge_beside("24MHz / 2", 12e6 * (1 + 60e-6), {off}, "20ppm");
  REQUIRE(!v.causes.empty());
  CHECK(v.causes[0].code == CauseCode::kCrystalOff);
}

TEST_CASE("judge_clock: two outputs that agree are no witness for a third") {
  // +60 ppm, as one other; a third is right.
  const OtherClock right = output("c", 0.0, false);
  OtherClock alike = output("b", 60.0, true);
  alike.is_right = false;
  const Verdict v =
      judge_beside("24MHz / 2", 12e6 * (1 + 60e-6), {alike, right}, "20ppm");
  const auto first = codes_at(v, 1);
  CHECK(std::find(first.begin(), first.end(), "crystal_off") != first.end());
  CHECK(std::find(first.begin(), first.end(), "source_not_shared") !=
        first.end());
}

}  // namespace clockassay
