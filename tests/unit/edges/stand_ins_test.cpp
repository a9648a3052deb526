// SPDX-License-Identifier: GPL-3.0-or-later
#include "edges/stand_ins.h"

#include <doctest/doctest.h>

using namespace clockassay;

namespace {

using Ticks64 = std::vector<std::int64_t>;

// Cycles 0 … 5 of 40 ticks, high for 20.
ExplicitEdges six_cycles() {
  ExplicitEdges edges;
  for (std::int64_t k = 0; k < 6; ++k) {
    edges.rise.push_back({k, 40 * k});
    edges.fall.push_back({k, 40 * k + 20});
  }
  return edges;
}

}  // namespace

TEST_CASE("suspect_edges: a glitch beside whole cycles makes none suspect") {
  CHECK(suspect_edges(six_cycles(), {}).empty());
  CHECK(suspect_edges(six_cycles(), {85, 88}).empty());    // while high
  CHECK(suspect_edges(six_cycles(), {108, 109}).empty());  // while low
}

TEST_CASE("suspect_edges: lost edges alone make none suspect") {
  ExplicitEdges edges = six_cycles();
  edges.rise.erase(edges.rise.begin() + 2);
  edges.fall.erase(edges.fall.begin() + 2);
  CHECK(suspect_edges(edges, {}).empty());
  CHECK(suspect_edges(edges, {10, 12}).empty());  // a glitch elsewhere
}

TEST_CASE("suspect_edges: the half of an extra pulse that fits a lost one is") {
  // Pulse 2, due at 80 … 100, is lost; an extra one comes at 81 … 84. Its rise
  // passes for the lost one, its fall is extra. What follows is suspect too: it
  // might as well be the fall of an extra pulse that began there.
  ExplicitEdges edges = six_cycles();
  edges.rise[2].tick = 81;
  edges.fall.erase(edges.fall.begin() + 2);
  CHECK(suspect_edges(edges, {84}) == Ticks64{81, 120});
  // The other way round: rise extra, fall fits.
  edges = six_cycles();
  edges.rise.erase(edges.rise.begin() + 2);
  edges.fall[2].tick = 99;
  CHECK(suspect_edges(edges, {96}) == Ticks64{60, 99});
}

TEST_CASE("suspect_edges: none where nothing comes before or after") {
  // Rise 0 is lost, an extra edge comes before all others.
  ExplicitEdges edges = six_cycles();
  edges.rise.erase(edges.rise.begin());
  CHECK(suspect_edges(edges, {-3}).empty());
  CHECK(suspect_edges(ExplicitEdges{}, {5, 7}).empty());
}
