// SPDX-License-Identifier: GPL-3.0-or-later
#include "edges/stretch_builder.h"

#include <doctest/doctest.h>

using namespace clockassay;

TEST_CASE("StretchBuilder: cycles without a rising edge are noted as missing") {
  StretchBuilder builder(false);
  builder.open();
  ExplicitEdges edges;
  edges.rise = {{3, 0}, {4, 10}, {7, 40}};
  edges.fall = {{3, 5}, {4, 15}, {7, 45}};
  builder.add_explicit(edges, {22}, Ticks(100));
  builder.close(StretchBreak::kStopped);
  const EdgeStore store = builder.finish();
  REQUIRE(store.stretches.size() == 1);
  const Stretch& s = store.stretches[0];
  CHECK(s.missing == 2);
  CHECK(s.extra == 1);
  CHECK(s.first == Ticks(100));
  CHECK(s.last == Ticks(145));
  CHECK(s.repairs ==
        std::vector<Repair>{{RepairKind::kExtraEdge, Ticks(122), 1},
                            {RepairKind::kMissingCycle, Ticks(140), 2}});
  CHECK(store.breaks == std::vector<StretchBreak>{StretchBreak::kStart});
}

TEST_CASE("StretchBuilder: what makes no stretch is counted as unnumbered") {
  StretchBuilder builder(false);
  builder.open();
  ExplicitEdges edges;
  edges.rise = {{0, 0}};
  edges.fall = {{0, 5}};
  builder.add_explicit(edges, {7, 8, 9}, Ticks(0));
  builder.close(StretchBreak::kRegimeChange);
  const EdgeStore store = builder.finish();
  CHECK(store.stretches.empty());
  CHECK(store.unnumbered_edges == 5);
  CHECK(store.last_unnumbered == Ticks(9));
}

TEST_CASE("StretchBuilder: extra edges beyond either end are no clock's") {
  StretchBuilder builder(false);
  builder.open();
  ExplicitEdges edges;
  edges.rise = {{0, 20}, {1, 30}};
  edges.fall = {{0, 25}, {1, 35}};
  builder.add_explicit(edges, {3, 27, 48}, Ticks(100));
  builder.close(StretchBreak::kStopped);
  const EdgeStore store = builder.finish();
  REQUIRE(store.stretches.size() == 1);
  CHECK(store.stretches[0].extra == 1);
  CHECK(store.stretches[0].repairs ==
        std::vector<Repair>{{RepairKind::kExtraEdge, Ticks(127), 1}});
  CHECK(store.unnumbered_edges == 2);
  CHECK(store.last_unnumbered == Ticks(148));
}
