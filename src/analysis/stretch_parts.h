// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <optional>
#include <vector>

#include "analysis/channel_analysis.h"
#include "clockassay/base/parallel.h"
#include "clockassay/edges/edge_store.h"
#include "clockassay/verdict/settling.h"

namespace clockassay {

/// A part of a numbered stretch that one estimate is made of.
struct StretchPart {
  Ticks from;
  Ticks to;
  StretchBreak why = StretchBreak::kStart;  ///< what came before it
};

struct StretchParts {
  std::vector<StretchPart> parts;  ///< in order of time, one or more
  std::vector<CoursePoint> course;
};

/// The latest settling time asked for a channel.
std::optional<Rational> settling_asked(const Setting& s,
                                       const ChannelRecord& record);

/// The one frequency expected of a channel, and the timebase it is told in.
std::optional<NominalClock> nominal_clock(const Setting& s,
                                          const ChannelRecord& record);

/// Parts what is analysed of a stretch where the time for settling ends and
/// where the frequency steps.
/// In:     some of the stretch is analysed; why  what came before it
StretchParts part_stretch(const Setting& s, const Stretch& stretch,
                          StretchBreak why,
                          const std::optional<Rational>& settle_within_s,
                          const ParallelFor& parallel_for);

/// A stretch too short to be followed, as one point of the course.
std::optional<CoursePoint> as_point(const StretchRecord& stretch);

/// What is known of a channel's frequency over time.
/// In:     its last stretch has a budget
FrequencyHistory history_of(const ChannelResult& channel);

}  // namespace clockassay
