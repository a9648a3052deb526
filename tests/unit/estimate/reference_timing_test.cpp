// SPDX-License-Identifier: GPL-3.0-or-later
#include "estimate/reference_timing.h"

#include <doctest/doctest.h>

#include <cmath>
#include <random>
#include <vector>

#include "support/approx.h"
#include "support/common_timebase.h"
#include "support/test_stretch.h"
#include "support/two_threads.h"

using namespace clockassay;

namespace {

CommonViews views_of(const TestStretch& clock, const TestStretch& reference,
                     const TickScale& scale = {}) {
  return {{EdgeView(clock.stretch), scale, Ticks(0)},
          {EdgeView(reference.stretch), scale, Ticks(0)}};
}

/// Edges of a clock of that period [ticks] at instants moved by `error`.
TestStretch exact_edges(double period, double start, int cycles,
                        const std::function<double(double)>& error) {
  std::vector<std::int64_t> rises, falls;
  for (int k = 0; k <= cycles; ++k) {
    const auto tick = [&](double t) { return std::llround(t + error(t)); };
    rises.push_back(tick(start + k * period));
    falls.push_back(tick(start + (k + 0.5) * period));
  }
  return stretch_from_edges(rises, falls, 64);
}

TEST_CASE("time_by_reference: a time that bends at its edges is taken off") {
  // Ticks so fine that rounding to them is nothing: a reference of 1e7 of them,
  // a clock of a third. The time bends at each reference edge by up to 1 %.
  std::mt19937_64 random(7);
  std::uniform_real_distribution<double> uniform(-1e5, 1e5);
  std::vector<double> bends(101);
  for (double& b : bends) b = uniform(random);
  const auto error = [&](double t) {
    const double place = std::min(t / 1e7, 99.999);
    const auto i = static_cast<std::size_t>(place);
    return bends[i] +
           (place - static_cast<double>(i)) * (bends[i + 1] - bends[i]);
  };
  const TestStretch reference = exact_edges(1e7, 0.0, 100, error);
  const TestStretch clock = exact_edges(1e7 / 3, 1e6, 296, error);
  const auto timing = time_by_reference(views_of(clock, reference), serial_for);
  REQUIRE(timing);
  // Rounding leaves a tick of 1e7, over 100 edges.
  CHECK(std::abs(timing->ratio / 3.0 - 1.0) < 1e-9);
  CHECK(timing->half_width < 1e-8);
  CHECK_FALSE(timing->wander);
}

TEST_CASE("time_by_reference: ticks of another length make no difference") {
  // The same clock, once in ticks of the reference and once in a quarter of
  // them, from another origin.
  std::mt19937_64 random(8);
  const auto error = time_error(TimebaseCourse::kLinear, 1e6, 50.0, random);
  const TestStretch reference = exact_edges(9961.8, 10.0, 90, error);
  const auto quarter = [&](double t) { return 3.0 * t + 4.0 * error(t); };
  const TestStretch clock = exact_edges(3333.3, 5000.0, 250, error);
  const TestStretch fine = exact_edges(3333.3, 5000.0, 250, quarter);
  CommonViews views = views_of(clock, reference);
  const auto plain = time_by_reference(views, serial_for);
  views.clock = {EdgeView(fine.stretch),
                 {Rational::make(1, 4).value(), Rational(4), {}},
                 Ticks(0)};
  const auto other = time_by_reference(views, serial_for);
  REQUIRE(plain);
  REQUIRE(other);
  // Both are rounded to less than a tick of 3333.3, over 250 cycles.
  CHECK(std::abs(other->ratio / plain->ratio - 1.0) < 1.0 / 3333.3 / 250);
  CHECK(std::abs(plain->ratio / (9961.8 / 3333.3) - 1.0) < plain->half_width);
}

TEST_CASE("time_by_reference: fewer edges than parts need give no result") {
  const auto none = [](double) { return 0.0; };
  const TestStretch many = exact_edges(1000.0, 0.0, 200, none);
  // One edge more than cycles.
  const TestStretch enough = exact_edges(4000.0, 0.0, 47, none);
  const TestStretch few = exact_edges(4000.0, 0.0, 46, none);
  CHECK(time_by_reference(views_of(many, enough), serial_for));
  CHECK_FALSE(time_by_reference(views_of(many, few), serial_for));
  CHECK_FALSE(time_by_reference(views_of(few, many), serial_for));
}

TEST_CASE("time_by_reference: no scatter is no certainty") {
  // Both locked to the sampler: every residual is nothing, and yet a slope of
  // both windows over the capture would not show.
  const auto none = [](double) { return 0.0; };
  const TestStretch clock = exact_edges(40.0, 0.0, 1000, none);
  const TestStretch reference = exact_edges(50.0, 0.0, 800, none);
  const auto timing = time_by_reference(views_of(clock, reference), serial_for);
  REQUIRE(timing);
  CHECK(timing->ratio == testing::approx(1.25).epsilon(1e-12));
  // Two windows in 40 000 ticks.
  CHECK(timing->half_width == testing::approx(2.0 / 40'000).epsilon(1e-9));
}

TEST_CASE("time_by_reference: what the clock itself does stays, and is said") {
  std::mt19937_64 random(9);
  const auto none = [](double) { return 0.0; };
  // 20 ticks of drift of the clock alone: 40 ppm from end to end.
  const auto drift = time_error(TimebaseCourse::kLinear, 1e6, 20.0, random);
  const TestStretch clock = exact_edges(83.38, 0.0, 11'900, drift);
  const TestStretch reference = exact_edges(99.62, 0.0, 10'000, none);
  const auto timing = time_by_reference(views_of(clock, reference), serial_for);
  REQUIRE(timing);
  REQUIRE(timing->wander);
  // A quarter at an end is off by 3/4 of 20 ppm, an eighth by 7/8; in 1490
  // edges of two windows sampling alone may move the slope by 1.5 * 2 / 1490
  // of 83.38 ticks, 24 ppm, in twice as many by 12.
  CHECK(*timing->wander > 14e-6);
  CHECK(*timing->wander < 18e-6);
  CHECK(timing->half_width > 5e-6);
}

TEST_CASE("time_by_reference: the same bits for any threads") {
  std::mt19937_64 random(10);
  const auto error = time_error(TimebaseCourse::kWalk, 1e6, 30.0, random);
  const SampledEdges a = see_clock({83.38, 0.5, 0.3}, 1e6, error, random);
  const SampledEdges b = see_clock({99.62, 0.5, 0.3}, 1e6, error, random);
  const TestStretch clock = stretch_from_edges(a.rises, a.falls, 256);
  const TestStretch reference = stretch_from_edges(b.rises, b.falls, 256);
  const auto one = time_by_reference(views_of(clock, reference), serial_for);
  const auto two = time_by_reference(views_of(clock, reference), two_threads);
  const TestStretch cut = stretch_from_edges(a.rises, a.falls, 100);
  const auto other = time_by_reference(views_of(cut, reference), serial_for);
  REQUIRE(one);
  REQUIRE(two);
  REQUIRE(other);
  CHECK(one->ratio == two->ratio);
  CHECK(one->half_width == two->half_width);
  CHECK(one->ratio == other->ratio);
  CHECK(one->half_width == other->half_width);
}

}  // namespace
