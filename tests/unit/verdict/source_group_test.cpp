// SPDX-License-Identifier: GPL-3.0-or-later
#include "clockassay/verdict/source_group.h"

#include <doctest/doctest.h>

#include <string>
#include <vector>

#include "support/approx.h"
#include "unit/verdict/clock_under_test.h"

namespace clockassay {
namespace {

ClockSpec named(std::string name, std::string_view expect,
                std::string_view make = "30ppm") {
  ClockSpec clock = clock_of(expect, make);
  clock.name = std::move(name);
  return clock;
}

/// Off by that ratio, known to U in the capture's own time, 5 ppm in all.
MeasuredClock measured(const ClockSpec& clock, double ratio,
                       double capture_ppm = 0.1) {
  return {&clock, Hertz(clock.expect.frequency_hz.to_double() * ratio),
          Ppm(5.0), Ppm(capture_ppm)};
}

/// What is said of `clocks[0]` beside the others.
Verdict judged_beside(const std::vector<MeasuredClock>& clocks,
                      double timebase_ppm) {
  ClockEvidence evidence =
      evidence_of(clocks[0].frequency.value(), timebase_ppm);
  evidence.others = others_of(clocks, 0);
  return judge_clock(*clocks[0].spec, {}, evidence);
}

}  // namespace

TEST_CASE("group_by_source: outputs off by one ratio agree, whatever it is") {
  const ClockSpec a = named("a", "24MHz / 2");
  const ClockSpec b = named("b", "24MHz / 3 * 5");
  for (const double ratio : {1.0, 1.0 + 61e-6, 2.0 / 3.0}) {
    CAPTURE(ratio);
    const std::vector<MeasuredClock> clocks{
        measured(a, ratio), measured(b, ratio * (1.0 + 0.19e-6))};
    const auto groups = group_by_source(clocks);
    REQUIRE(groups.size() == 1);
    CHECK(groups[0].agree);
    CHECK(groups[0].odd.empty());
    REQUIRE(groups[0].pairs.size() == 1);
    // 12 MHz against 40 MHz, 0.1 + 0.1 ppm.
    CHECK(groups[0].pairs[0].clock == "b");
    CHECK(groups[0].pairs[0].expected == *Rational::make(10, 3));
    CHECK(groups[0].pairs[0].difference.value() ==
          testing::approx(0.19).epsilon(1e-6));
    CHECK(groups[0].pairs[0].allowed.value() == testing::approx(0.2));
  }
}

TEST_CASE("group_by_source: two apart by more than both U disagree") {
  const ClockSpec a = named("a", "24MHz / 2");
  const ClockSpec b = named("b", "24MHz / 4");
  const std::vector<MeasuredClock> clocks{measured(a, 1.0),
                                          measured(b, 1.0 + 0.21e-6)};
  const auto groups = group_by_source(clocks);
  REQUIRE(groups.size() == 1);
  CHECK_FALSE(groups[0].agree);
  // Both are within 30 ppm: nothing tells which is wrong.
  CHECK(groups[0].odd.empty());
  CHECK(groups[0].finding.find("does not show") != std::string::npos);
}

TEST_CASE("group_by_source: the one off its tolerance is at fault, as 100/99") {
  const ClockSpec a = named("a", "24MHz / 2");
  const ClockSpec timer = named("timer", "24MHz / 100");
  const std::vector<MeasuredClock> clocks{
      measured(a, 1.0 + 4e-6), measured(timer, (1.0 + 4e-6) * 100.0 / 99.0)};
  const auto groups = group_by_source(clocks);
  REQUIRE(groups.size() == 1);
  CHECK(groups[0].odd == std::vector<std::string>{"timer"});
  // 3/pi^2 * 100^2 * 2 * 0.2e-6 = 0.0012: hardly by chance.
  REQUIRE(groups[0].pairs[0].exact);
  CHECK(*groups[0].pairs[0].exact == *Rational::make(100, 99));
}

TEST_CASE("group_by_source: a fraction that chance would meet is not named") {
  // 16001/16000: 3/pi^2 * 16001^2 * 2 * 0.2e-6 = 31 fractions fit as well.
  const ClockSpec a = named("a", "16MHz / 2");
  const ClockSpec timer = named("timer", "16MHz / 16000");
  const std::vector<MeasuredClock> clocks{measured(a, 1.0),
                                          measured(timer, 16000.0 / 16001.0)};
  const auto groups = group_by_source(clocks);
  REQUIRE(groups.size() == 1);
  CHECK(groups[0].odd == std::vector<std::string>{"timer"});
  CHECK_FALSE(groups[0].pairs[0].exact);
}

TEST_CASE("group_by_source: of three, two that agree outvote one") {
  // All of them off their tolerance, two by one ratio.
  const ClockSpec a = named("a", "24MHz / 2");
  const ClockSpec b = named("b", "24MHz / 4");
  const ClockSpec c = named("c", "24MHz / 5");
  const std::vector<MeasuredClock> clocks{
      measured(a, 2.0 / 3.0), measured(b, 0.5), measured(c, 2.0 / 3.0)};
  const auto groups = group_by_source(clocks);
  REQUIRE(groups.size() == 1);
  CHECK(groups[0].odd == std::vector<std::string>{"b"});
}

TEST_CASE("group_by_source: two that agree with a third need not agree") {
  // 0, 0, 1 ± 1 and 2.05 ppm, else ± 0.1: the third agrees with each, the last
  // with it alone. Three agree among themselves.
  const ClockSpec a = named("a", "24MHz / 2");
  const ClockSpec b = named("b", "24MHz / 4");
  const ClockSpec c = named("c", "24MHz / 5");
  const ClockSpec d = named("d", "24MHz / 6");
  std::vector<MeasuredClock> clocks{measured(a, 1.0), measured(b, 1.0),
                                    measured(c, 1.0 + 1e-6, 1.0),
                                    measured(d, 1.0 + 2.05e-6)};
  auto groups = group_by_source(clocks);
  REQUIRE(groups.size() == 1);
  CHECK_FALSE(groups[0].agree);
  CHECK(groups[0].odd == std::vector<std::string>{"d"});
  // Two and two, with the third in both: no part is the larger.
  clocks.erase(clocks.begin() + 1);
  groups = group_by_source(clocks);
  REQUIRE(groups.size() == 1);
  CHECK(groups[0].odd.empty());
  CHECK(groups[0].finding.find("does not show") != std::string::npos);
}

TEST_CASE("group_by_source: named sources are told apart, and put together") {
  ClockSpec a = named("a", "24MHz / 2");
  ClockSpec b = named("b", "24MHz / 4");
  ClockSpec c = named("c", "48MHz / 4");
  a.source = "main crystal";
  b.source = "crystal of the PHY";
  c.source = "main crystal";
  const std::vector<MeasuredClock> clocks{measured(a, 1.0), measured(b, 1.0),
                                          measured(c, 1.0)};
  const auto groups = group_by_source(clocks);
  REQUIRE(groups.size() == 1);
  CHECK(groups[0].source == "main crystal");
  CHECK(groups[0].clocks == std::vector<std::string>{"a", "c"});
}

TEST_CASE("others_of: what each says of the one that is judged") {
  const ClockSpec a = named("a", "24MHz / 3 * 42 / 4");
  const ClockSpec b = named("b", "24MHz / 3 * 42 / 7");
  const ClockSpec c = named("c", "25MHz");
  const std::vector<MeasuredClock> clocks{
      measured(a, 1.0 + 100e-6), measured(b, 1.0), measured(c, 1.0 + 100e-6)};
  const auto others = others_of(clocks, 0);
  REQUIRE(others.size() == 2);
  CHECK(others[0].name == "b");
  CHECK(others[0].same_source);
  CHECK(others[0].shared_factors == 2);
  CHECK(others[0].is_right);
  CHECK_FALSE(others[0].agrees);
  CHECK_FALSE(others[1].same_source);
  CHECK_FALSE(others[1].is_right);
  CHECK(others[1].agrees);
}

TEST_CASE("others_of: a wider limit is no sign that one output is off alone") {
  // Both 115 ppm fast by one crystal, through a timebase of ±80 ppm (U = 76):
  // beyond 20 + 76, and within 50 + 76.
  const ClockSpec a = named("a", "24MHz / 2", "20ppm");
  const ClockSpec b = named("b", "24MHz / 4", "50ppm");
  std::vector<MeasuredClock> clocks{measured(a, 1.0 + 115e-6),
                                    measured(b, 1.0 + 115e-6)};
  for (MeasuredClock& clock : clocks) clock.expanded = Ppm(76.0);
  REQUIRE(others_of(clocks, 0)[0].is_right);
  REQUIRE(others_of(clocks, 0)[0].agrees);
  const Verdict v = judged_beside(clocks, 80.0);
  CHECK(v.decision == Decision::kFail);
  REQUIRE(!v.causes.empty());
  CHECK(v.causes[0].code == CauseCode::kCrystalOff);
  CHECK(v.causes[0].rank == 1);
  for (const Cause& cause : v.causes) {
    CHECK(cause.code != CauseCode::kOutputAlone);
  }
}

TEST_CASE("others_of: an output known badly clears and blames nothing") {
  // 400 ppm fast; the other seems right, but may be off by 500.
  const ClockSpec a = named("a", "24MHz / 2");
  const ClockSpec b = named("b", "24MHz / 4");
  std::vector<MeasuredClock> clocks{measured(a, 1.0 + 400e-6),
                                    measured(b, 1.0, 500.0)};
  clocks[1].expanded = Ppm(500.0);
  const Verdict v = judged_beside(clocks, 5.0);
  REQUIRE(!v.causes.empty());
  CHECK(v.causes[0].code == CauseCode::kCrystalOff);
  // One known well does, and then the crystal is right.
  clocks[1] = measured(b, 1.0);
  const Verdict told = judged_beside(clocks, 5.0);
  REQUIRE(!told.causes.empty());
  CHECK(told.causes[0].code == CauseCode::kOutputAlone);
}

}  // namespace clockassay
