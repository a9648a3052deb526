// SPDX-License-Identifier: GPL-3.0-or-later
#include "verdict/set_up_cause.h"

#include <doctest/doctest.h>

#include <algorithm>
#include <string>

#include "unit/verdict/clock_under_test.h"
#include "verdict/requirement_reader.h"

namespace clockassay {
namespace {

RequirementAsked asked_of(std::string_view option) {
  const Result<RequirementAsked> asked = read_requirement_option(option);
  REQUIRE(asked);
  return *asked;
}

// A link at 921600 Bd from 48 MHz with whole divisors: 48e6 / (16 * 3) / 921600
// is 8.5069 % fast, and no receiver takes that.
constexpr std::string_view kFastLink =
    "uart,clock=48MHz,baud=921600,oversampling=16,frame_bits=10,far_end=1%";

Verdict verdict_of(std::string_view requirement, double ppm,
                   std::string_view make = "30ppm", double timebase_ppm = 5) {
  ClockSpec clock = clock_of("48MHz / 4", make);
  clock.requirements = {asked_of(requirement)};
  return judge_clock(clock, {},
                     evidence_of(12e6 * (1 + ppm * 1e-6), timebase_ppm));
}

bool speaks_of_soldering(const Verdict& v) {
  return std::any_of(v.causes.begin(), v.causes.end(), [](const Cause& c) {
    return c.advice.find("solder") != std::string::npos ||
           c.advice.find("capacitor") != std::string::npos;
  });
}

TEST_CASE("judge_clock: a divisor that makes no such baud rate is the cause") {
  const Verdict v = verdict_of(kFastLink, 3);
  CHECK(v.decision == Decision::kFail);
  REQUIRE(v.causes.size() == 1);
  const Cause& cause = v.causes.front();
  CHECK(cause.code == CauseCode::kDivisorOff);
  CHECK(cause.rank == 1);
  CHECK(cause.cause ==
        "UART link, this clock's share: the divisor cannot make this baud rate "
        "within what is left");
  REQUIRE(cause.evidence.size() == 2);
  CHECK(cause.evidence[0] ==
        "By the divisor alone the bit rate is 8.50694 % fast.");
  CHECK(cause.evidence[1] ==
        "That leaves the clock -104089.6 … -52068.6 ppm: one at exactly its "
        "nominal frequency fails.");
  CHECK(cause.advice ==
        "Set a fractional divisor, another oversampling, or another UART "
        "clock.");
  CHECK(cause.if_true.starts_with("bits on the line are too long"));
  CHECK_FALSE(speaks_of_soldering(v));
}

TEST_CASE(
    "judge_clock: a divisor comes first where the source is off as well") {
  const Verdict v = verdict_of(kFastLink, 200);
  CHECK(v.decision == Decision::kFail);
  REQUIRE(v.causes.size() > 1);
  CHECK(v.causes[0].code == CauseCode::kDivisorOff);
  CHECK(v.causes[0].rank == 1);
  CHECK(v.causes[1].rank == 2);
  // No rival of what explains the frequency.
  for (const std::string& sentence : v.causes[1].evidence) {
    CHECK(sentence.find("divisor cannot") == std::string::npos);
  }
}

TEST_CASE("judge_clock: a divisor that leaves next to nothing is the cause") {
  // 48e6 / (16 * 13) / 224000 is 3.0220 % fast; a far end of 0.6 % leaves
  // 0.0302 or so of that: found by the limits themselves.
  const RequirementAsked asked = asked_of(
      "uart,clock=48MHz,baud=224000,oversampling=16,frame_bits=10,"
      "far_end=0.6%");
  const double high = asked.limits_ppm->high_ppm.to_double();
  REQUIRE(high > 0.0);
  REQUIRE(high < 5000.0);
  const ClockSpec clock = clock_of("48MHz / 4", "1%");
  const MeasuredError error = error_of(3000.0, 100.0);
  const auto cause = set_up_cause(clock, asked, error, true);
  REQUIRE(cause);
  CHECK(cause->code == CauseCode::kDivisorOff);
  CHECK(cause->evidence.back().starts_with("That leaves the clock no more"));
  // A source that keeps well within is none of its business.
  CHECK_FALSE(set_up_cause(clock_of("48MHz / 4", "30ppm"), asked,
                           error_of(0.0, 10.0), true));
}

TEST_CASE("judge_clock: a bit timing tighter than the source is said to be") {
  // min(1, 1) / (2 (13 * 25 - 1)) = 1543.2 ppm.
  const std::string_view can = "can-classic,sjw=1,tbit=25,pb1=1,pb2=1";
  const Verdict v = verdict_of(can, 3000, "0.5%");
  CHECK(v.decision == Decision::kFail);
  REQUIRE(v.causes.size() == 1);
  CHECK(v.causes[0].code == CauseCode::kSetUpTooTight);
  CHECK(v.causes[0].cause ==
        "CAN classic node clock: this bit timing leaves less than the source "
        "may be off");
  CHECK(v.causes[0].evidence[0] ==
        "It leaves ±1543.2 ppm; the source is allowed ±5000 ppm, and U is 4.8 "
        "ppm.");
  CHECK_FALSE(speaks_of_soldering(v));
  // Where it is U that is wider, that is said.
  const Verdict open = verdict_of(can, 0, "30ppm", 2000);
  CHECK(open.decision == Decision::kUndecided);
  CHECK(std::any_of(open.causes.begin(), open.causes.end(), [](const Cause& c) {
    return c.cause.ends_with("leaves less than U");
  }));
}

TEST_CASE("judge_clock: a set-up that leaves enough is no cause") {
  const Verdict v = verdict_of("can-classic,sjw=1,tbit=16,pb1=5,pb2=4", 9000);
  CHECK(v.decision == Decision::kFail);
  for (const Cause& cause : v.causes) {
    CHECK(cause.code != CauseCode::kSetUpTooTight);
    CHECK(cause.code != CauseCode::kDivisorOff);
  }
}

}  // namespace
}  // namespace clockassay
