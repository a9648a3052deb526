// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <cstdint>
#include <optional>

#include "analysis/channel_analysis.h"
#include "clockassay/analysis/record.h"
#include "clockassay/base/parallel.h"
#include "clockassay/estimate/clock_ratio.h"
#include "clockassay/estimate/edge_line.h"
#include "clockassay/estimate/edge_sums.h"

namespace clockassay {

/// The edges of a view and the line through them.
struct EdgesWithLine {
  EdgeView view;
  EdgeSums sums;
  LineFit line;
  PhaseScale scale;

  /// From the first to the last, lost ones counted.
  std::int64_t cycles() const { return sums.last_cycle - sums.first_cycle + 1; }
};

/// In:  a view of what the estimate is of
/// Out: absent where there is no line
std::optional<EdgesWithLine> edges_with_line(const Setting& s,
                                             const ClockEstimate& clock,
                                             const EdgeView& view,
                                             bool interpolated,
                                             const ParallelFor& parallel_for);

/// Of the rising edges about their line.
Seconds line_rms(const EdgesWithLine& edges);

/// In the time of a reference, if there is one.
Stability stability_of(const EdgesWithLine& edges,
                       const std::optional<CommonViews>& common,
                       const StabilityOptions& options,
                       const ParallelFor& parallel_for);

/// In: spectrum  nullptr: there is none
///     tie_rms   in the capture's own time
OscillatorCharacter character_of(const Setting& s, const EdgesWithLine& edges,
                                 const Stability& stability,
                                 const TieSpectrum* spectrum, Seconds period,
                                 Seconds tie_rms);

/// What charts show of the last stretch; absent where it has no estimate. What
/// has been worked out already is taken over.
std::optional<ChannelPictures> pictures_of(const Setting& s,
                                           const AnalysedStretch& last,
                                           bool interpolated,
                                           const ParallelFor& parallel_for,
                                           const ChannelResult& result);

/// Frequency stability of the last stretch, where it was asked for and the
/// stretch has an estimate, what the clock behaves like, by it and by the
/// spectrum if there is one, and a warning of what tau were left out. What
/// sampling makes of interpolated edges is not known.
void describe_stability_of(const Setting& s, const AnalysedStretch& last,
                           bool interpolated, const ParallelFor& parallel_for,
                           ChannelResult& result);

}  // namespace clockassay
