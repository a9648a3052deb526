// SPDX-License-Identifier: GPL-3.0-or-later
#include "verdict/unit_cause.h"

#include <doctest/doctest.h>

#include <algorithm>
#include <string>

#include "support/approx.h"
#include "unit/verdict/clock_under_test.h"

namespace clockassay {
namespace {

TEST_CASE("judge_clock: an expected frequency without a unit is asked about") {
  const Verdict v = judge_clock(clock_of("24", "30ppm"), {},
                                evidence_of(24e6 * (1 + 5e-6), 2.0));
  CHECK(v.decision == Decision::kFail);
  REQUIRE_FALSE(v.causes.empty());
  const Cause& first = v.causes.front();
  CHECK(first.code == CauseCode::kUnitMissing);
  CHECK(first.cause ==
        "\"24\" has no unit and was read as 24 Hz; did you mean 24MHz?");
  CHECK(first.rank == 1);
  CHECK(
      first.evidence.at(0).ends_with("about 1000000 times what is expected."));
  REQUIRE(first.residual);
  CHECK(first.residual->value() == testing::approx(5.0).epsilon(1e-6));
  for (std::size_t i = 1; i < v.causes.size(); ++i) CHECK(v.causes[i].rank > 1);
}

TEST_CASE("judge_clock: how something was read is said whatever is decided") {
  ClockSpec clock = clock_of("24MHz", "30ppm");
  clock.remarks = {"It was read so."};
  CHECK(judge_clock(clock, {}, evidence_of(24e6, 2.0)).reasons.at(0) ==
        "It was read so.");
  CHECK(
      judge_unmeasured_clock(clock, "a.csv", "clk", "Too few.").reasons.at(0) ==
      "It was read so.");
}

TEST_CASE("unit_missing: the unit is the one the clock is about") {
  const ClockSpec path = clock_of("24 / 2", "30ppm");
  CHECK(unit_missing(path, 12e6)->cause.ends_with("did you mean 24MHz?"));
  CHECK(unit_missing(path, 12e3)->cause.ends_with("did you mean 24kHz?"));
  // Another crystal than meant as well.
  CHECK(unit_missing(path, 8e6)->cause.ends_with("did you mean 24MHz?"));
  CHECK_FALSE(unit_missing(path, 12.0));
  CHECK_FALSE(unit_missing(path, 120.0));
}

TEST_CASE("unit_missing: a frequency in hertz that is meant is left alone") {
  CHECK_FALSE(unit_missing(clock_of("32768", "30ppm"), 32768.0));
  CHECK_FALSE(unit_missing(clock_of("32768", "30ppm"), 16384.0));
  CHECK_FALSE(unit_missing(clock_of("24Hz", "30ppm"), 24e6));
  const Verdict v =
      judge_clock(clock_of("32768", "30ppm"), {}, evidence_of(32768.0, 2.0));
  CHECK(v.decision == Decision::kPass);
  CHECK(v.causes.empty());
}

}  // namespace
}  // namespace clockassay
