// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <cstddef>
#include <span>
#include <string>
#include <vector>

#include "analysis/channel_analysis.h"
#include "clockassay/base/parallel.h"
#include "clockassay/base/result.h"
#include "clockassay/base/warning.h"
#include "clockassay/estimate/clock_ratio.h"
#include "clockassay/uncertainty/reference.h"

namespace clockassay {

/// A reference, numbered: one clock throughout.
struct ReferenceChannel {
  ReferenceClock stated;
  std::string name;
  EdgeStore store;
  std::size_t stretch = 0;  ///< of the store
  TickScale scale;
  Ticks origin;
  EdgeView view;           ///< of that stretch
  ClockEstimate estimate;  ///< over all of the view
};

/// The channel that a reference names.
/// Errors: kUsage for several, kBadData for none
Result<std::size_t> find_reference(const ReferenceClock& stated,
                                   const Capture& capture);

/// Numbers the reference and estimates it.
/// In:     s  of that channel
/// Errors: kBadData when it carries no clock, not throughout, or another one
Result<ReferenceChannel> read_reference(const ReferenceClock& stated,
                                        const Setting& s,
                                        const ChannelRecord& record,
                                        const ParallelFor& parallel_for);

/// How far the rate of the capture's time is off its mean in parts of it, where
/// the reference shows that; else 0.
Ppm time_wander(const ReferenceChannel& reference);

/// What both channels have of a clock's edges, if s names a reference.
std::optional<CommonViews> common_with_reference(const Setting& s,
                                                 const EdgeView& view);

/// The budget of a clock against the reference. Its warnings of wander become
/// those of what is left when the reference's time is taken.
/// Errors: as estimate_clock(), of the reference over that time
Result<Budget> budget_against(const Setting& s, const CommonViews& views,
                              ClockEstimate& clock,
                              const ParallelFor& parallel_for);

/// A setting for the time of the reference, against which it measures.
Setting within_reference(const Setting& s, const ReferenceChannel& reference);

/// Makes the last channel of a result the reference: its frequency is as
/// stated. Says what it says of the instrument, and what stands against it.
/// In: s  of that channel
void describe_reference(const Setting& s, const ReferenceChannel& reference,
                        CaptureResult& result);

}  // namespace clockassay
