// SPDX-License-Identifier: GPL-3.0-or-later
#include "clockassay/history/comparison.h"

#include <doctest/doctest.h>

#include <cmath>
#include <random>
#include <string>

#include "support/approx.h"

namespace clockassay {
namespace {

ClockSeen clock(const std::string& channel, double hertz, double u_ppm = 0.1,
                double half_width_ppm = 2.0) {
  ClockSeen c;
  c.channel = channel;
  c.frequency = Hertz(hertz);
  c.indicated = Hertz(hertz);
  c.u = Ppm(u_ppm);
  c.half_width = Ppm(half_width_ppm);
  return c;
}

ComparisonOptions by_one_instrument(double moves_ppm) {
  ComparisonOptions options;
  options.moves = Ppm(moves_ppm);
  return options;
}

ToleranceBand within_ppm(int ppm) {
  return {Rational(-ppm), Rational(ppm)};
}

}  // namespace

TEST_CASE("compare_clocks: the shift and what is not known of it") {
  const std::vector before = {clock("a", 12e6)};
  const std::vector after = {clock("a", 12e6 * (1 + 5e-6))};
  const auto own = compare_clocks(before, after, {});
  REQUIRE(own.size() == 1);
  CHECK(own[0].shift.value() == testing::approx(5.0).epsilon(1e-6));
  // Two rectangles of 2 ppm: hardly anything else.
  CHECK(own[0].expanded.value() == testing::approx(3.105).epsilon(0.01));
  CHECK(own[0].significant);
  // By one instrument that moved 0.5 ppm: 0.95 of that and the captures.
  const auto same = compare_clocks(before, after, by_one_instrument(0.5));
  CHECK(same[0].expanded.value() < 0.6);
  CHECK(same[0].expanded.value() > 0.475);
}

TEST_CASE("compare_clocks: of a clock twice as fast U is twice as large") {
  // The shift is r - 1, r = after/before: what either is off by, relative to
  // itself, moves r by as much of r.
  const std::vector before = {clock("a", 12e6)};
  const auto small = compare_clocks(before, {{clock("a", 12e6)}}, {});
  const auto twice = compare_clocks(before, {{clock("a", 24e6)}}, {});
  CHECK(twice[0].expanded.value() ==
        testing::approx(2.0 * small[0].expanded.value()).epsilon(1e-9));
  const auto half =
      compare_clocks(before, {{clock("a", 6e6)}}, by_one_instrument(0.5));
  const auto none =
      compare_clocks(before, {{clock("a", 12e6)}}, by_one_instrument(0.5));
  CHECK(half[0].expanded.value() ==
        testing::approx(0.5 * none[0].expanded.value()).epsilon(1e-9));
}

TEST_CASE("compare_clocks: one instrument is what it indicated, both times") {
  // Before nothing was known of it, afterwards it was found 40 ppm fast: the
  // clock indicated the same, and did not move.
  const ClockSeen before = clock("a", 12e6, 0.1, 100.0);
  ClockSeen after = clock("a", 12e6 * (1 + 40e-6), 0.1, 2.0);
  after.indicated = Hertz(12e6);
  const auto same =
      compare_clocks({{before}}, {{after}}, by_one_instrument(1.0));
  CHECK(same[0].shift.value() == 0.0);
  // A reference in one of them only: then it is another time.
  after.by_reference = true;
  const auto other =
      compare_clocks({{before}}, {{after}}, by_one_instrument(1.0));
  CHECK(other[0].shift.value() == testing::approx(40.0).epsilon(1e-4));
  // Of the ratio, 40 ppm above one.
  CHECK(other[0].distribution.rectangle_a ==
        testing::approx(100.0 * (1 + 40e-6)).epsilon(1e-12));
  CHECK(other[0].distribution.rectangle_b ==
        testing::approx(2.0 * (1 + 40e-6)).epsilon(1e-12));
}

TEST_CASE("compare_clocks: clocks that are gone or new are told") {
  ComparisonOptions options;
  options.limit = within_ppm(3);
  const auto shifts =
      compare_clocks({{clock("a", 1e6), clock("b", 2e6)}},
                     {{clock("b", 2e6), clock("c", 3e6)}}, options);
  REQUIRE(shifts.size() == 3);
  CHECK(shifts[0].presence == Presence::kOnlyBefore);
  CHECK(shifts[0].decision == Decision::kFail);
  CHECK(shifts[1].presence == Presence::kInBoth);
  CHECK(shifts[2].presence == Presence::kOnlyAfter);
  CHECK_FALSE(shifts[2].decision);
}

TEST_CASE("compare_clocks: a name without its scopes is the same clock") {
  const auto presences = [](const std::vector<ClockSeen>& before,
                            const std::vector<ClockSeen>& after) {
    std::string text;
    for (const ClockShift& s : compare_clocks(before, after, {})) {
      text += s.presence == Presence::kInBoth       ? "="
              : s.presence == Presence::kOnlyBefore ? "-"
                                                    : "+";
    }
    return text;
  };
  const auto c = [](const char* name) { return clock(name, 12e6); };
  CHECK(presences({c("clk")}, {c("top.clk")}) == "=");
  CHECK(presences({c("a.clk"), c("b.x")}, {c("x"), c("clk")}) == "==");
  // Nothing is guessed where two would do, or one has the name itself.
  CHECK(presences({c("clk")}, {c("a.clk"), c("b.clk")}) == "-++");
  CHECK(presences({c("a.clk"), c("b.clk")}, {c("clk")}) == "--+");
  CHECK(presences({c("clk"), c("a.clk")}, {c("a.clk")}) == "-=");
  CHECK(presences({c("clk")}, {c("clk"), c("a.clk")}) == "=+");
  CHECK(presences({c("clk")}, {c("clk2")}) == "-+");
}

TEST_CASE("compare_clocks: a limit is judged with a guard band of U") {
  ComparisonOptions options = by_one_instrument(0.5);
  options.limit = within_ppm(3);
  const auto decide = [&](double ppm, const std::string& doubt = "") {
    ClockSeen after = clock("a", 12e6 * (1 + ppm * 1e-6));
    after.doubt = doubt;
    return *compare_clocks({{clock("a", 12e6)}}, {{after}}, options)
                .front()
                .decision;
  };
  // U is 0.55 ppm.
  CHECK(decide(0.0) == Decision::kPass);
  CHECK(decide(2.4) == Decision::kPass);
  CHECK(decide(2.6) == Decision::kUndecided);
  CHECK(decide(-3.4) == Decision::kUndecided);
  CHECK(decide(-3.6) == Decision::kFail);
  CHECK(decide(0.0, "edges were lost") == Decision::kUndecided);
  CHECK(decide(9.0, "edges were lost") == Decision::kUndecided);
}

TEST_CASE("compare_clocks: U holds, and many clocks are not many alarms") {
  // 20 clocks that did not move, one instrument that moved anywhere within its
  // 0.2 ppm: U of each has to hold 95 %, and any of the 20 may be called moved
  // in no more than 5 % of comparisons.
  constexpr unsigned kSeed = 7;
  constexpr int kTrials = 1000;
  constexpr int kClocks = 20;
  std::mt19937_64 random(kSeed);
  std::normal_distribution<double> normal(0.0, 0.1);
  std::uniform_real_distribution<double> moved(-0.2, 0.2);
  int held = 0;
  int alarms = 0;
  for (int i = 0; i < kTrials; ++i) {
    std::vector<ClockSeen> before;
    std::vector<ClockSeen> after;
    const double time = moved(random);
    for (int c = 0; c < kClocks; ++c) {
      const std::string name = std::to_string(c);
      before.push_back(clock(name, 1e6 * (1 + 1e-6 * normal(random))));
      after.push_back(clock(name, 1e6 * (1 + 1e-6 * (normal(random) + time))));
    }
    const auto shifts = compare_clocks(before, after, by_one_instrument(0.2));
    bool any = false;
    for (const ClockShift& s : shifts) {
      held += std::abs(s.shift.value()) <= s.expanded.value();
      any = any || s.significant;
    }
    alarms += any;
  }
  CAPTURE(kSeed);
  // Clocks of one comparison share the time: as few as kTrials independent
  // ones in the worst case. Four standard deviations of that.
  const double share = static_cast<double>(held) / (kTrials * kClocks);
  const double spread = 4.0 * std::sqrt(0.95 * 0.05 / kTrials);
  CHECK(std::abs(share - 0.95) <= spread);
  CHECK(alarms <= 0.05 * kTrials + 4.0 * std::sqrt(0.05 * 0.95 * kTrials));
}

TEST_CASE("compare_clocks: jitter and duty change by more than chance") {
  ClockSeen before = clock("a", 1e6);
  before.period_jitter = Seconds(100e-12);
  before.edge_jitter = Figure{70e-12, 1e-12};
  before.duty = Figure{0.5, 0.001};
  ClockSeen after = before;
  after.period_jitter = Seconds(150e-12);
  after.edge_jitter = Figure{72e-12, 1e-12};
  after.duty = Figure{0.53, 0.001};
  const auto s = compare_clocks({{before}}, {{after}}, {}).front();
  CHECK(*s.period_jitter_ratio == testing::approx(1.5));
  CHECK_FALSE(s.jitter_changed);  // 2 ps of 1.4
  CHECK(s.duty_changed);
  CHECK(s.duty_change->value == testing::approx(0.03));
  after.edge_jitter = Figure{90e-12, 1e-12};
  CHECK(compare_clocks({{before}}, {{after}}, {}).front().jitter_changed);
  after.period_jitter.reset();
  CHECK_FALSE(
      compare_clocks({{before}}, {{after}}, {}).front().period_jitter_ratio);
}

TEST_CASE("moved_alike: all clocks by the same, and by more than chance") {
  const std::vector before = {clock("a", 1e6), clock("b", 2e6)};
  const auto moved = [&](double a, double b) {
    const std::vector after = {clock("a", 1e6 * (1 + a * 1e-6)),
                               clock("b", 2e6 * (1 + b * 1e-6))};
    return moved_alike(compare_clocks(before, after, {}), 0.95);
  };
  CHECK(moved(3.0, 3.1));
  CHECK_FALSE(moved(3.0, 6.0));
  CHECK_FALSE(moved(0.1, 0.0));
  CHECK_FALSE(moved_alike(
      compare_clocks({{clock("a", 1e6)}}, {{clock("a", 1.1e6)}}, {}), 0.95));
}

}  // namespace clockassay
