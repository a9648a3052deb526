// SPDX-License-Identifier: GPL-3.0-or-later
#include "estimate/few_edges.h"

#include <doctest/doctest.h>

#include <utility>
#include <vector>

#include "support/approx.h"
#include "support/test_stretch.h"

using namespace clockassay;

namespace {

/// Rising edges {cycle, tick}, the first at 0.
Stretch rising(std::vector<NumberedEdge> edges) {
  Stretch s;
  s.first = Ticks(0);
  s.last = Ticks(edges.back().tick);
  s.blocks.push_back(
      {Cycles(0), Ticks(0), ExplicitEdges{std::move(edges), {}}});
  return s;
}

double half_width(const Stretch& s) {
  const EdgeView view(s);
  const EdgeSums sums = sum_edges(view, serial_for).value();
  const LineFit line = fit_line(sums.rise, sums.fall).value();
  return few_edges_half_width(view, sums, line);
}

}  // namespace

TEST_CASE("few_edges_half_width: the mean of a few independent periods") {
  // Periods 9, 11, 9, 11: s² = 4/3, s/√4 = 0.57735, t = 3.18245 for three
  // degrees of freedom (JCGM 100:2008, Table G.2: 3.18).
  const Stretch s = rising({{0, 0}, {1, 9}, {2, 20}, {3, 29}, {4, 40}});
  CHECK(half_width(s) == testing::approx(1.83739).epsilon(1e-5));
}

TEST_CASE(
    "few_edges_half_width: without two periods in a row nothing is said") {
  // Every other cycle lost: no period at all. Then one: no scatter of any.
  CHECK(half_width(rising({{0, 0}, {2, 19}, {4, 41}, {6, 60}, {8, 80}})) ==
        0.0);
  CHECK(half_width(rising({{0, 0}, {1, 9}, {3, 30}, {5, 50}, {7, 70}})) == 0.0);
}

TEST_CASE("may_accumulate: not where sampling alone may have moved the edges") {
  const Stretch s = rising({{0, 0}, {1, 9}, {2, 20}, {3, 29}, {4, 40}});
  const EdgeSums sums = sum_edges(EdgeView(s), serial_for).value();
  // Periods of 9 and 11: 2 apart, more than 1.5 windows of 1.3 are 1.95.
  CHECK(may_accumulate(sums, 1.3));
  CHECK_FALSE(may_accumulate(sums, 1.4));  // 2.1
}
