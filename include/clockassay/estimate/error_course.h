// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <cstddef>
#include <cstdint>
#include <vector>

#include "clockassay/base/parallel.h"
#include "clockassay/estimate/time_interval_error.h"

namespace clockassay {

/// Neighbouring cycles of a time-interval error, all of them looked at.
struct ErrorPart {
  std::int64_t first = 0;  ///< cycles since the first rising edge
  std::int64_t count = 0;  ///< cycles; some may have no edge, not all
  double least = 0.0;      ///< error [ticks]
  double most = 0.0;
};

/// The time-interval error for a picture: parts of equal length, the last one
/// perhaps shorter, each from its least error to its greatest, so that nothing
/// that stands out is lost. Parts without any edge are left out.
/// In:     parts > 0, at most so many
/// Out:    the same for any threads
/// Cost:   a pass over the view
std::vector<ErrorPart> course_of(const TimeIntervalErrors& errors,
                                 std::size_t parts,
                                 const ParallelFor& parallel_for);

}  // namespace clockassay
