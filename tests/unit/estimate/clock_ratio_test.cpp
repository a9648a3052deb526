// SPDX-License-Identifier: GPL-3.0-or-later
#include "clockassay/estimate/clock_ratio.h"

#include <doctest/doctest.h>

#include <cmath>
#include <random>
#include <vector>

#include "support/approx.h"
#include "support/common_timebase.h"
#include "support/ratio_trial.h"
#include "support/test_stretch.h"

using namespace clockassay;

namespace {

/// Rising edges every `period` ticks from `first` on.
TestStretch regular(std::int64_t first, std::int64_t period, int edges) {
  std::vector<std::int64_t> rises, falls;
  for (int k = 0; k < edges; ++k) {
    rises.push_back(first + k * period);
    falls.push_back(rises.back() + period / 2);
  }
  return stretch_from_edges(rises, falls, 16);
}

TimedView timed(const TestStretch& t, std::int64_t origin = 0,
                Rational tick_s = Rational(1)) {
  return {EdgeView(t.stretch), {tick_s, Rational(1), {}}, Ticks(origin)};
}

std::vector<std::int64_t> rises_of(const EdgeView& view) {
  std::vector<std::int64_t> rises;
  BlockEdges edges;
  for (std::size_t i = 0; i < view.block_count(); ++i) {
    view.read_block(i, edges);
    for (std::size_t j = 0; j < edges.rise.count; ++j) {
      rises.push_back(edges.first_tick.count() + edges.rise.tick[j]);
    }
  }
  return rises;
}

TEST_CASE("common_window: a slow reference keeps all edges, the clock is cut") {
  const TestStretch clock = regular(3, 10, 200);       // 3 … 1993
  const TestStretch reference = regular(105, 300, 6);  // 105 … 1605
  const auto views = common_window(timed(clock), timed(reference));
  REQUIRE(views);
  CHECK(rises_of(views->reference.view).size() == 6);
  // Between 105 and 1605.
  const auto rises = rises_of(views->clock.view);
  CHECK(rises.front() == 113);
  CHECK(rises.back() == 1603);
}

TEST_CASE("common_window: a slow clock cuts the reference") {
  const TestStretch clock = regular(105, 300, 6);
  const TestStretch reference = regular(3, 10, 200);
  const auto views = common_window(timed(clock), timed(reference));
  REQUIRE(views);
  CHECK(rises_of(views->clock.view).size() == 6);
  CHECK(rises_of(views->reference.view).front() == 113);
  CHECK(rises_of(views->reference.view).back() == 1603);
}

TEST_CASE(
    "common_window: ends of the slower one a period outside still count") {
  // The reference begins 4 ticks before the clock and ends 7 after it.
  const TestStretch clock = regular(104, 10, 151);      // 104 … 1604
  const TestStretch reference = regular(100, 151, 11);  // 100 … 1610
  auto views = common_window(timed(clock), timed(reference));
  REQUIRE(views);
  CHECK(rises_of(views->reference.view).size() == 11);
  CHECK(rises_of(views->clock.view).size() == 151);
  // More than a period of the clock: that edge has no clock beside it.
  const TestStretch late = regular(114, 10, 150);
  views = common_window(timed(late), timed(reference));
  REQUIRE(views);
  CHECK(rises_of(views->reference.view).front() == 251);
}

TEST_CASE("common_window: each counts its own ticks from its own origin") {
  const TestStretch clock = regular(1003, 10, 200);
  // Four ticks to one of the clock's, 50 of them before the same instant.
  const TestStretch reference = regular(50 + 4 * 105, 1200, 6);
  const auto views = common_window(
      timed(clock, 1000), timed(reference, 50, Rational::make(1, 4).value()));
  REQUIRE(views);
  CHECK(rises_of(views->reference.view).size() == 6);
  CHECK(rises_of(views->clock.view).front() == 1113);
  CHECK(rises_of(views->clock.view).back() == 2603);
}

TEST_CASE("common_window: absent where they share no two edges") {
  const TestStretch clock = regular(0, 10, 50);
  CHECK_FALSE(common_window(timed(clock), timed(regular(600, 10, 50))));
  // One edge of the reference in the clock's time.
  CHECK_FALSE(common_window(timed(clock), timed(regular(400, 300, 5))));
  CHECK_FALSE(common_window(timed(regular(0, 10, 1)), timed(clock)));
}

ClockRatio related(const SampledEdges& a, const SampledEdges& b) {
  const auto ratio = seen_ratio(a, b);
  REQUIRE(ratio);
  return *ratio;
}

TEST_CASE("relate_clocks: in a steady time each has its own half-width") {
  std::mt19937_64 random(11);
  const auto none = time_error(TimebaseCourse::kSteady, 1e5, 0.0, random);
  const ClockRatio ratio =
      related(see_clock({83.38, 0.5, 0.0}, 1e5, none, random),
              see_clock({99.62, 0.5, 0.0}, 1e5, none, random));
  CHECK_FALSE(ratio.timed_by_reference);
  CHECK_FALSE(ratio.common_wander);
  CHECK(ratio.clock_half_width > 0.0);
  CHECK(ratio.reference_half_width > 0.0);
  CHECK(std::abs(ratio.value / (99.62 / 83.38) - 1.0) <=
        ratio.clock_half_width + ratio.reference_half_width);
}

TEST_CASE("relate_clocks: in a time that drifts edges are timed") {
  std::mt19937_64 random(12);
  const auto drift = time_error(TimebaseCourse::kLinear, 1e6, 100.0, random);
  const ClockRatio ratio =
      related(see_clock({83.38, 0.5, 0.0}, 1e6, drift, random),
              see_clock({99.62, 0.5, 0.0}, 1e6, drift, random));
  CHECK(ratio.timed_by_reference);
  REQUIRE(ratio.common_wander);
  // The rate goes from 0 to 200 ppm: an eighth at an end is off by 7/8 of 100.
  CHECK(*ratio.common_wander == testing::approx(87.5e-6).epsilon(0.05));
  CHECK_FALSE(ratio.own_wander);
  CHECK(ratio.reference_half_width == 0.0);
  CHECK(std::abs(ratio.value / (99.62 / 83.38) - 1.0) <=
        ratio.clock_half_width);
  // Of a drift that moves edges by 1e-4 of the capture nothing is left.
  CHECK(ratio.clock_half_width < 1e-7);
}

TEST_CASE("relate_clocks: a drift with too few edges widens, never hides") {
  // 20 edges of the reference: no parts to be timed.
  std::mt19937_64 random(13);
  const auto drift = time_error(TimebaseCourse::kLinear, 1e6, 100.0, random);
  const ClockRatio ratio =
      related(see_clock({83.38, 0.5, 0.0}, 1e6, drift, random),
              see_clock({49'620.0, 0.5, 0.0}, 1e6, drift, random));
  CHECK_FALSE(ratio.timed_by_reference);
  CHECK(ratio.common_wander);
  CHECK(ratio.clock_half_width > 1e-5);
  CHECK(std::abs(ratio.value / (49'620.0 / 83.38) - 1.0) <=
        ratio.clock_half_width);
}

TEST_CASE("relate_clocks: what only the clock does is not the time's") {
  std::mt19937_64 random(14);
  const auto none = time_error(TimebaseCourse::kSteady, 1e6, 0.0, random);
  const auto drift = time_error(TimebaseCourse::kLinear, 1e6, 100.0, random);
  const ClockRatio ratio =
      related(see_clock({83.38, 0.5, 0.0}, 1e6, drift, random),
              see_clock({99.62, 0.5, 0.0}, 1e6, none, random));
  CHECK(ratio.timed_by_reference);
  CHECK_FALSE(ratio.common_wander);
  REQUIRE(ratio.own_wander);
  // As above: an eighth at an end is off by 7/8 of 100 ppm.
  CHECK(*ratio.own_wander == testing::approx(87.5e-6).epsilon(0.05));
}

TEST_CASE("relate_clocks: jitter that both share is taken off") {
  // 300 turns of 20 samples: white to either, and 14 samples rms.
  std::mt19937_64 random(15);
  const auto shared = time_error(TimebaseCourse::kFastSine, 1e6, 20.0, random);
  const ClockRatio ratio =
      related(see_clock({83.38, 0.5, 0.0}, 1e6, shared, random),
              see_clock({99.62, 0.5, 0.0}, 1e6, shared, random));
  CHECK(ratio.timed_by_reference);
  CHECK(std::abs(ratio.value / (99.62 / 83.38) - 1.0) <=
        ratio.clock_half_width);
  // 14 samples of own jitter would leave 1.96 * 14 * sqrt(12/12000) of 1e6.
  CHECK(ratio.clock_half_width < 0.2 * 1.96 * 14 * std::sqrt(1e-3) / 1e6);
  // Jitter of their own is not.
  const auto none = time_error(TimebaseCourse::kSteady, 1e6, 0.0, random);
  CHECK_FALSE(related(see_clock({83.38, 0.5, 5.0}, 1e6, none, random),
                      see_clock({99.62, 0.5, 5.0}, 1e6, none, random))
                  .timed_by_reference);
}

}  // namespace
