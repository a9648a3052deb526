// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <cstddef>
#include <span>
#include <vector>

namespace clockassay {

/// A level that values kept until they kept another.
struct LevelShift {
  std::size_t first = 0;  ///< the first value of the new level
  double before = 0.0;    ///< mean of the values of each level
  double after = 0.0;
  double expanded = 0.0;  ///< U of after - before, 95 %, by the scatter
  double chance = 1.0;    ///< of such a step in values of one level
};

struct ShiftOptions {
  /// Histories of one level in which a step may be found.
  double alarms = 0.01;
  /// Values a level has at least: fewer are outliers, which the control limits
  /// show. Chosen.
  std::size_t fewest = 3;
};

/// Steps of the mean. The cut that parts the values best, by the difference of
/// the means over their scatter, is a step where no more than `alarms` of all
/// orders of these values have so good a cut; then either part is looked at by
/// itself.
/// Assumes values scatter about their level independently, by whatever
///         distribution: what drifts slowly is taken for steps
/// In:     values in order of time, finite
/// Out:    in order of time; the same for the same values (999 orders drawn
///         from a fixed seed)
/// Cost:   O(1000 n) for each part looked at
/// Source: docs/history.md#steps
std::vector<LevelShift> find_level_shifts(std::span<const double> values,
                                          const ShiftOptions& options = {});

/// Of fewer values no order is rare enough for a step, whatever they are: a
/// clean cut in their middle, and its mirror, are two of n over n/2 orders.
/// In:     0 < alarms < 1
std::size_t fewest_for_a_shift(const ShiftOptions& options);

}  // namespace clockassay
