// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <optional>
#include <vector>

#include "clockassay/base/parallel.h"
#include "clockassay/base/rational.h"
#include "clockassay/base/result.h"
#include "clockassay/base/warning.h"
#include "clockassay/edges/edge_store.h"
#include "clockassay/estimate/frequency_estimate.h"
#include "clockassay/estimate/nominal_error.h"
#include "clockassay/estimate/sampling_phase.h"

namespace clockassay {

/// What the ticks of a view mean.
struct TickScale {
  Rational tick_s = Rational(1);
  Rational window_ticks = Rational(1);  ///< of one edge, > 0
  /// Where it is stated or seen. If it is the window, edges are known to within
  /// a sample and no more, and the likelihood of that holds.
  std::optional<Rational> sample_ticks = {};
};

/// All that one stretch says about its clock, in the capture's own time.
struct ClockEstimate {
  FrequencyEstimate frequency;
  Seconds period;
  double period_ticks = 0.0;         ///< the same
  std::optional<DutyEstimate> duty;  ///< absent without falling edges
  Jitter jitter;
  SpectralCheck spectral_check;
  /// Where the sampling interval is known.
  std::optional<double> samples_per_period;
  std::optional<FewPhases> few_phases;
  std::int64_t rising = 0;
  std::int64_t falling = 0;
  Seconds span;  ///< first to last edge
  /// The half-width is by the scatter of parts: jitter is not white.
  bool scattered = false;
  /// Furthest a part is off, relative, where more than sampling and jitter
  /// explain.
  std::optional<double> wander;
  std::vector<Warning> warnings;
};

/// Estimates one clock from numbered edges: its mean frequency over the view.
/// 1 least-squares line, one slope, an intercept per polarity (exact sums);
/// 2 feasible set: if a line passes through every window, the frequency is the
///   mean over the set; else the most likely one with normal jitter seen
///   through the windows, which beyond 0.6 windows of it is the least-squares
///   one;
/// 3 half-width: all slopes not much less likely than that;
/// 4 where the parts of the view scatter more than white jitter explains, the
///   half-width comes from that scatter, and a change of frequency is warned
///   of;
/// 5 jitter that the edges of neighbouring half cycles share widens it, and
///   where rising and falling edges say different periods it contains both.
/// In:     nominal  what the clock was expected to be, if that is known
/// Errors: kTooFewEdges below two rising edges, or when the edges leave the
///         period open altogether
/// Source: docs/measurement-model.md
Result<ClockEstimate> estimate_clock(
    const EdgeView& view, const TickScale& scale,
    const ParallelFor& parallel_for,
    const std::optional<NominalClock>& nominal = std::nullopt);

}  // namespace clockassay
