// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <cstdint>
#include <optional>
#include <vector>

#include "clockassay/edges/edge_store.h"

namespace clockassay {

/// Repairs of one kind that are spaced more evenly than chance spaces them:
/// then the clock makes the gaps or the pulses itself, by a gate or a divider,
/// or something beats with it.
struct RegularRepairs {
  RepairKind kind = RepairKind::kMissingCycle;
  std::int64_t places = 0;   ///< cycles lost in a row are one, a pulse is one
  std::int64_t spacing = 0;  ///< cycles from place to place, the median
  std::int64_t at_spacing = 0;  ///< distances of that or one cycle more or less
};

/// Chance leaves as many whole cycles from one place to the next as a geometric
/// distribution of their mean. Told from it by how many distances are alike to
/// one cycle, or by how little all scatter, each where chance does so less than
/// once in a thousand captures with repairs.
/// In:     in time order; period of the line [ticks]
/// Out:    the kind that has more places, where both are regular; absent with
///         fewer than three
/// Source: docs/measurement-model.md#numbering-and-repairs
std::optional<RegularRepairs> find_regular_repairs(
    const std::vector<Repair>& repairs, double period_ticks);

}  // namespace clockassay
