// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <optional>
#include <vector>

#include "analysis/channel_analysis.h"
#include "clockassay/capture/arena.h"
#include "clockassay/capture/capture.h"
#include "clockassay/edges/sample_numbers.h"
#include "clockassay/edges/sampling_window.h"

namespace clockassay {

/// Channels of a capture with samples for ticks.
struct ChannelsOnSamples {
  SampleNumbers samples;
  Rational interval_s;
  Arena arena;  ///< what their blocks point into
  /// As in the capture; those that were interpolated are as they were.
  std::vector<ChannelRecord> channels;
};

/// Puts the stamps back on the samples they were written from, where the text
/// rounds, the interval is stated and nothing contradicts it; then what the
/// text rounded is gone, and `window` says so. Absent where that cannot be.
std::optional<ChannelsOnSamples> put_on_samples(const Capture& capture,
                                                SamplingWindow& window);

/// What a capture's channels share, with samples for ticks.
/// In: s of the same capture, in its own ticks
Setting in_samples(const Setting& s, const ChannelsOnSamples& on_samples);

}  // namespace clockassay
