// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <cstdint>
#include <optional>
#include <span>
#include <string>
#include <vector>

#include "clockassay/base/parallel.h"
#include "clockassay/base/rational.h"
#include "clockassay/base/warning.h"
#include "clockassay/capture/channel_stream.h"
#include "clockassay/capture/time_grid.h"

namespace clockassay {

/// The time within which one edge is known to have happened: one sampling
/// interval, to which the text's own steps add where they do not fall on the
/// samples.
struct SamplingWindow {
  Rational window_ticks = Rational(1);  ///< > 0
  /// The one reckoned with; absent when it is not visible.
  std::optional<Rational> sample_interval_s;
  SampleIntervalSource source = SampleIntervalSource::kUnknown;
  std::string interval_reason;  ///< why that interval, in words
  std::string window_reason;    ///< what the window is made of, in words
  /// Where samples were further apart than stated and the text leaves open how
  /// far: the whole multiples of the stated interval that it may be.
  std::vector<Rational> possible_intervals_s;
  std::vector<Warning> warnings;
};

/// Finds the window of a capture's edges.
/// Stated interval T (option, header, rows): the window is T where the text can
/// write every sample and all intervals are multiples of T, else T plus the
/// text resolution, which is said where it matters (text_rounds, text_coarse).
/// Intervals that T cannot explain: sampling_contradicted. Intervals that are
/// all multiples of kT, k >= 2: if a steady clock is seen to step by that much
/// too, samples were kT apart and that is the window
/// (sampling_finer_than_seen); if nothing steps, a clock locked to the sampler
/// looks the same, and T is believed (sampling_unconfirmed).
/// Edges that are interpolated between samples of a voltage are on no grid and
/// show no sampling interval. If all channels are such, the window is the
/// longest step from one sample to the next plus the text resolution; else they
/// are left out, and each is to be asked about alone.
/// Nothing stated: two edges are at least a sample apart, and two intervals
/// that differ by more than rounding do so by at least a sample; the smallest
/// such length bounds T, and the text resolution adds. sampling_inferred where
/// a common divisor of all intervals agrees with that bound, else
/// sampling_not_visible, which forbids a pass: the bound takes the text's last
/// digits at their word.
/// In:     at least one interval between edges, else the tick is the window
/// Cost:   O(edges), block-parallel
/// Source: docs/measurement-model.md#window
SamplingWindow sampling_window(std::span<const ChannelRecord> channels,
                               const TimeGrid& grid,
                               const ParallelFor& parallel_for);

}  // namespace clockassay
