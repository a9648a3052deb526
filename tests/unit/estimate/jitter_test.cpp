// SPDX-License-Identifier: GPL-3.0-or-later
#include "clockassay/estimate/jitter.h"

#include <doctest/doctest.h>

#include <cmath>

#include "clockassay/base/parallel.h"

using namespace clockassay;

namespace {

Stretch rising_stretch(const std::vector<std::int64_t>& ticks) {
  ExplicitEdges edges;
  for (std::size_t i = 0; i < ticks.size(); ++i) {
    edges.rise.push_back({static_cast<std::int64_t>(i), ticks[i]});
  }
  Stretch s;
  s.blocks.push_back({Cycles(0), Ticks(0), edges});
  s.first = Ticks(ticks.front());
  s.last = Ticks(ticks.back());
  return s;
}

Jitter jitter_of(const std::vector<std::int64_t>& ticks, double window) {
  const Stretch s = rising_stretch(ticks);
  const EdgeView view(s);
  const EdgeSums sums = sum_edges(view, serial_for).value();
  const auto line = fit_line(sums.rise, sums.fall);
  REQUIRE(line);
  const ResidualPass r = pass_residuals(
      view, sums, find_extremes(view, sums.frame, line->slope, serial_for), 1,
      serial_for);
  return describe_jitter(sums, *line, r, window, 1e-9);
}

}  // namespace

TEST_CASE("describe_jitter: a worked example of eight edges") {
  // Edges in ns. Periods 101 98 103 96 102 103 96, mean 699/7, sum of squared
  // deviations 206/21 * 6; differences of neighbours -3 5 -7 6 1 -7: squares
  // 169 over 6, largest 7. Least-squares line: period 4201/42, intercept 1/6,
  // residuals -1/6 17/21 -17/14 37/21 -95/42 -2/7 113/42 -4/3: sum of squares
  // 409/21, range 104/21. All exact fractions, by hand.
  const Jitter j = jitter_of({0, 101, 199, 302, 398, 500, 603, 699}, 1.0);
  const double ns = 1e-9;
  CHECK(j.cycles == 7);
  CHECK(j.period_rms->value() ==
        doctest::Approx(std::sqrt(206.0 / 21.0) * ns).epsilon(1e-13));
  CHECK(j.period_peak_to_peak->value() ==
        doctest::Approx(7 * ns).epsilon(1e-13));
  CHECK(j.cycle_to_cycle_rms->value() ==
        doctest::Approx(std::sqrt(169.0 / 6.0) * ns).epsilon(1e-13));
  CHECK(j.cycle_to_cycle_peak->value() ==
        doctest::Approx(7 * ns).epsilon(1e-13));
  CHECK(j.tie_rms->value() ==
        doctest::Approx(std::sqrt(409.0 / 21.0 / 8.0) * ns).epsilon(1e-13));
  CHECK(j.tie_peak_to_peak->value() ==
        doctest::Approx(104.0 / 21.0 * ns).epsilon(1e-13));
  CHECK_FALSE(j.resolution_limited);
  CHECK_FALSE(j.upper_limit.has_value());
}

TEST_CASE("describe_jitter: what sampling hides is bounded, not zero") {
  // Every period 40 ticks: nothing seen. A jitter of up to half a window could
  // hide: the limit is 0 + 1/2 tick.
  const Jitter j = jitter_of({0, 40, 80, 120, 160}, 1.0);
  CHECK(j.period_rms->value() == 0.0);
  CHECK(j.resolution_limited);
  CHECK(j.upper_limit->value() == doctest::Approx(0.5e-9));
}

TEST_CASE("describe_jitter: what cannot be formed is absent") {
  const Jitter j = jitter_of({0, 40}, 1.0);
  CHECK(j.cycles == 1);
  CHECK_FALSE(j.period_rms.has_value());
  CHECK_FALSE(j.cycle_to_cycle_rms.has_value());
  CHECK_FALSE(j.tie_rms.has_value());
}
