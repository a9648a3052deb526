// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <optional>
#include <string>
#include <vector>

#include "clockassay/base/units.h"

namespace clockassay {

/// The mean frequency over some time, in the capture's own time. All times are
/// since the first stamp.
struct CoursePoint {
  Seconds from;
  Seconds to;
  Hertz frequency;
  Hertz most_off;  ///< the furthest it may be off by jitter and sampling
};

/// Something that parts what was seen of a clock: a stop, a jump.
struct ClockBreak {
  Seconds from;  ///< last edge before it and first one after it
  Seconds to;
  std::string what;  ///< "the clock stopped"
};

/// All that was seen of a clock over the time of a capture.
struct FrequencyHistory {
  Seconds seen_from;                ///< first edge looked at
  std::vector<CoursePoint> course;  ///< in any order, one may lie in another
  std::vector<ClockBreak> breaks;
  Hertz final_frequency;  ///< of the last stretch
  Hertz final_half_width;
  /// How far the capture's own time takes a part's frequency, as a reference
  /// shows it; 0 where it shows nothing, or there is none: a timebase is taken
  /// to be steady.
  Ppm time_wander;
};

/// The point of the course that begins last, of such the shortest, that is off
/// the final frequency by more than both what is not known of the two, and of
/// the time they are seen in, and `allowed_ppm`; nullptr: there is none.
const CoursePoint* last_unsettled(const FrequencyHistory& history,
                                  double allowed_ppm);

/// The end of that point: from then on none is; the first moment looked at
/// where there is none; absent when it ends with the course.
std::optional<Seconds> settled_after(const FrequencyHistory& history,
                                     double allowed_ppm);

}  // namespace clockassay
