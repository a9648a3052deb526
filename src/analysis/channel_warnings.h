// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <vector>

#include "analysis/channel_analysis.h"
#include "clockassay/base/parallel.h"
#include "clockassay/base/warning.h"

namespace clockassay {

/// Pulses of one sample that may not all have been seen. Where the sampling
/// interval is inferred from the shortest pulse, every pulse may be no more
/// than that because nothing else was sampled in between.
void warn_of_narrow_pulses(const Setting& s, const EdgeView& view,
                           const ParallelFor& parallel_for,
                           std::vector<Warning>& warnings);

/// What parts a clock's run, in words: "the clock stopped".
std::string break_words(StretchBreak why);

/// What parts the capture, but for what did so while the clock may settle, and
/// edges after that time that belong to no part.
void warn_of_breaks(const Setting& s, const EdgeStore& store,
                    const std::vector<AnalysedStretch>& stretches,
                    const std::optional<Rational>& settle_within_s,
                    std::vector<Warning>& warnings);

/// A clock whose last edge is long before the end of what is analysed, for
/// whatever reason, has not been seen to run there.
void warn_of_silence(const Setting& s, const AnalysedStretch& last,
                     std::vector<Warning>& warnings);

/// The same before its first edge. That takes nothing from what was seen.
void warn_of_late_begin(const Setting& s, const AnalysedStretch& first,
                        std::vector<Warning>& warnings);

/// Pulses of no width and unknown levels, which are not in the numbering.
void warn_of_reading(const ChannelRecord& record,
                     std::vector<Warning>& warnings);

}  // namespace clockassay
