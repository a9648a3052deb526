// SPDX-License-Identifier: GPL-3.0-or-later
#include "estimate/reference_track.h"

#include <doctest/doctest.h>

#include <cmath>
#include <limits>
#include <optional>
#include <span>
#include <vector>

#include "support/approx.h"
#include "support/test_stretch.h"

using namespace clockassay;

namespace {

constexpr std::int64_t kOrigin = 1000;

/// Twelve cycles of 10 ticks in blocks of four, edge 5 three ticks late.
TestStretch one_late_edge() {
  std::vector<std::int64_t> rises, falls;
  for (std::int64_t k = 0; k <= 12; ++k) {
    rises.push_back(kOrigin + 50 + 10 * k + (k == 5 ? 3 : 0));
    falls.push_back(rises.back() + 4);
  }
  return stretch_from_edges(rises, falls, 4);
}

struct Fitted {
  EdgeView view;
  EdgeSums sums;
  LineFit line;
};

Fitted fitted(const TestStretch& t) {
  const EdgeView view(t.stretch);
  const EdgeSums sums = sum_edges(view, serial_for).value();
  return {view, sums, fit_line(sums.rise, LineSums{}).value()};
}

TEST_CASE("reference track: offsets at edges are residuals, linear between") {
  const TestStretch t = one_late_edge();
  const Fitted f = fitted(t);
  const ReferenceTrack track(f.view, f.sums, f.line, Ticks(kOrigin), 1,
                             serial_for);
  // Least squares through y = 3 at k = 5 of 0 … 12, else 0: the mean is 3/13,
  // the slope 3 (5 - 6) / sum (k - 6)^2 = -3/182.
  const auto line = [](double k) { return 3.0 / 13.0 - 3.0 / 182.0 * (k - 6); };
  const auto residual = [&](int k) { return (k == 5 ? 3.0 : 0.0) - line(k); };
  const auto edge = [](int k) { return 50.0 + 10 * k + (k == 5 ? 3 : 0); };
  for (int k = 0; k <= 12; ++k) {
    CAPTURE(k);
    REQUIRE(track.offset(edge(k)));
    CHECK(*track.offset(edge(k)) ==
          testing::approx(residual(k)).epsilon(1e-12));
    if (k == 12) break;
    // A quarter on the way.
    const double at = edge(k) + 0.25 * (edge(k + 1) - edge(k));
    REQUIRE(track.offset(at));
    CHECK(*track.offset(at) ==
          testing::approx(0.75 * residual(k) + 0.25 * residual(k + 1))
              .epsilon(1e-12));
  }
}

TEST_CASE("reference track: many instants at once are each by itself") {
  const TestStretch t = one_late_edge();
  const Fitted f = fitted(t);
  const ReferenceTrack track(f.view, f.sums, f.line, Ticks(kOrigin), 1,
                             serial_for);
  const double missing = std::numeric_limits<double>::quiet_NaN();
  // From before the first edge, 50, to after the last, 170; at an edge, 80, and
  // over several of them.
  const std::vector<double> instants = {missing, 10.0,    50.0,  61.5,
                                        80.0,    missing, 103.0, 103.5,
                                        169.9,   170.0,   170.1, 500.0};
  for (std::size_t from = 0; from < instants.size(); ++from) {
    const std::span<const double> some = std::span(instants).subspan(from);
    std::vector<double> out(some.size());
    track.offsets(some, out);
    for (std::size_t i = 0; i < some.size(); ++i) {
      CAPTURE(some[i]);
      const auto alone =
          std::isnan(some[i]) ? std::nullopt : track.offset(some[i]);
      REQUIRE(std::isnan(out[i]) == !alone);
      if (alone) CHECK(out[i] == *alone);
    }
  }
}

TEST_CASE("reference track: nothing is said outside its edges") {
  const TestStretch t = one_late_edge();
  const Fitted f = fitted(t);
  const ReferenceTrack track(f.view, f.sums, f.line, Ticks(kOrigin), 1,
                             serial_for);
  CHECK_FALSE(track.offset(49.9));
  CHECK(track.offset(50.0));
  CHECK(track.offset(170.0));
  CHECK_FALSE(track.offset(170.1));
}

TEST_CASE("reference track: a knot is the mean of its edges, in any blocks") {
  const TestStretch t = one_late_edge();
  const Fitted f = fitted(t);
  const ReferenceTrack track(f.view, f.sums, f.line, Ticks(kOrigin), 3,
                             serial_for);
  // Edges 0-2, 3-5, 6-8, 9-11 and 12 alone.
  CHECK(track.knots() == 5);
  const auto line = [](double k) { return 3.0 / 13.0 - 3.0 / 182.0 * (k - 6); };
  // The second is at (80 + 90 + 103) / 3 = 91, a third of 3 late.
  REQUIRE(track.offset(91.0));
  CHECK(*track.offset(91.0) == testing::approx(1.0 - line(4)).epsilon(1e-12));
  // The first is at 60, so that nothing is said before.
  CHECK_FALSE(track.offset(59.0));
  CHECK(*track.offset(75.5) ==
        testing::approx(0.5 * (1.0 - line(4)) - 0.5 * line(1)).epsilon(1e-12));
}

}  // namespace
