// SPDX-License-Identifier: GPL-3.0-or-later
#include "edges/stand_ins.h"

#include <algorithm>
#include <optional>

namespace clockassay {
namespace {

/// A level change, and which edge of the clock it is.
struct Change {
  std::int64_t tick;
  /// 2 * cycle, and 1 more for a falling edge: counts on by one from edge to
  /// edge. Absent: an extra edge.
  std::optional<std::int64_t> half;
};

std::vector<Change> in_time_order(const ExplicitEdges& edges,
                                  const std::vector<std::int64_t>& extra) {
  std::vector<Change> all;
  all.reserve(edges.rise.size() + edges.fall.size() + extra.size());
  const auto earlier = [](const Change& a, const Change& b) {
    return a.tick < b.tick;
  };
  const auto merge_from = [&](std::size_t middle) {
    std::inplace_merge(all.begin(),
                       all.begin() + static_cast<std::ptrdiff_t>(middle),
                       all.end(), earlier);
  };
  for (const NumberedEdge& e : edges.rise) all.push_back({e.tick, 2 * e.cycle});
  for (const NumberedEdge& e : edges.fall) {
    all.push_back({e.tick, 2 * e.cycle + 1});
  }
  merge_from(edges.rise.size());
  for (const std::int64_t tick : extra) all.push_back({tick, std::nullopt});
  merge_from(edges.rise.size() + edges.fall.size());
  return all;
}

}  // namespace

std::vector<std::int64_t> suspect_edges(
    const ExplicitEdges& edges, const std::vector<std::int64_t>& extra) {
  std::vector<std::int64_t> suspects;
  if (extra.empty()) return suspects;
  const std::vector<Change> all = in_time_order(edges, extra);
  const Change* last = nullptr;  // edge of the clock
  bool extra_between = false;
  for (const Change& c : all) {
    if (!c.half) {
      extra_between = true;
      continue;
    }
    if (last != nullptr && extra_between && *c.half != *last->half + 1) {
      suspects.push_back(last->tick);
      suspects.push_back(c.tick);
    }
    last = &c;
    extra_between = false;
  }
  suspects.erase(std::unique(suspects.begin(), suspects.end()), suspects.end());
  return suspects;
}

}  // namespace clockassay
