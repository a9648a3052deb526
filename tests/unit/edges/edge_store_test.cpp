// SPDX-License-Identifier: GPL-3.0-or-later
#include "clockassay/edges/edge_store.h"

#include <doctest/doctest.h>

#include "clockassay/edges/numbering.h"
#include "support/test_channel.h"

using namespace clockassay;

namespace {

/// Rises at 0, 10, …, falls 4 later; `cycles` whole cycles and a last rise.
std::vector<std::int64_t> steady_changes(std::int64_t cycles) {
  std::vector<std::int64_t> changes;
  for (std::int64_t k = 0; k < cycles; ++k) {
    changes.push_back(100 + 10 * k);
    changes.push_back(104 + 10 * k);
  }
  changes.push_back(100 + 10 * cycles);
  return changes;
}

}  // namespace

TEST_CASE("EdgeView: all edges of a stretch come in order with their numbers") {
  const auto changes = steady_changes(5000);
  const TestChannel channel = channel_from_changes(changes, 0, 60000);
  const EdgeStore store = number_cycles(channel.record, 1.0);
  REQUIRE(store.stretches.size() == 1);
  const Stretch& stretch = store.stretches[0];
  CHECK(stretch.rising == 5001);
  CHECK(stretch.falling == 5000);
  CHECK(stretch.first == Ticks(100));
  CHECK(stretch.last == Ticks(100 + 50000));
  const EdgeView view(stretch);
  std::int64_t expected = 0;
  BlockEdges edges;
  for (std::size_t b = 0; b < view.block_count(); ++b) {
    view.read_block(b, edges);
    for (std::size_t i = 0; i < edges.rise.count; ++i) {
      CHECK(edges.first_cycle.count() + edges.rise.cycle[i] == expected);
      CHECK(edges.first_tick.count() + edges.rise.tick[i] ==
            100 + 10 * expected);
      ++expected;
    }
  }
  CHECK(expected == 5001);
}

TEST_CASE("EdgeView: a view between two instants holds just their edges") {
  const auto changes = steady_changes(5000);
  const TestChannel channel = channel_from_changes(changes, 0, 60000);
  const EdgeStore store = number_cycles(channel.record, 1.0);
  // Rises at 25000, 25010, …, 25100; falls at 25004, …, 25094: by the formula
  // above, both ends included.
  const EdgeView view(store.stretches[0], Ticks(25000), Ticks(25100));
  std::int64_t rises = 0, falls = 0;
  BlockEdges edges;
  for (std::size_t b = 0; b < view.block_count(); ++b) {
    view.read_block(b, edges);
    rises += static_cast<std::int64_t>(edges.rise.count);
    falls += static_cast<std::int64_t>(edges.fall.count);
  }
  CHECK(rises == 11);
  CHECK(falls == 10);
}

TEST_CASE("EdgeView: extra edges count where the view is") {
  Stretch stretch;
  stretch.first = Ticks(0);
  stretch.last = Ticks(1000);
  stretch.repairs = {{RepairKind::kExtraEdge, Ticks(10), 1},
                     {RepairKind::kMissingCycle, Ticks(20), 3},
                     {RepairKind::kExtraEdge, Ticks(500), 1},
                     {RepairKind::kExtraEdge, Ticks(501), 1}};
  CHECK(EdgeView(stretch).extra_edges() == 3);
  CHECK(EdgeView(stretch, Ticks(10), Ticks(500)).extra_edges() == 2);
  CHECK(EdgeView(stretch, Ticks(11), Ticks(499)).extra_edges() == 0);
}
