// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <optional>

#include "clockassay/base/parallel.h"
#include "clockassay/base/units.h"
#include "clockassay/edges/edge_store.h"
#include "clockassay/estimate/clock_estimate.h"

namespace clockassay {

/// Edges of one channel and what their ticks mean. Two channels of one capture
/// may count different ticks; their origins are the same instant.
struct TimedView {
  EdgeView view;
  TickScale scale;
  Ticks origin;
};

/// Two channels over the same time.
struct CommonViews {
  TimedView clock;
  TimedView reference;
};

/// The part of both that the rising edges of the slower one enclose, between
/// the later of the first edges and the earlier of the last ones, give or take
/// a period of the faster one: a rate that drifts is then met alike by both.
/// Out: absent where fewer than two rising edges of either are left.
std::optional<CommonViews> common_window(const TimedView& clock,
                                         const TimedView& reference);

/// A clock against another one of the same capture.
struct ClockRatio {
  double value = 0.0;  ///< frequency of the clock over that of the reference
  /// 95 % half-widths, relative, that sampling and jitter of each leave. Where
  /// the edges are timed by the reference the first one holds both.
  double clock_half_width = 0.0;
  double reference_half_width = 0.0;
  /// The capture's time wanders or jitters more than the channels do, so that
  /// each edge of the clock was timed by the edges of the reference about it.
  bool timed_by_reference = false;
  /// Furthest a part is off by the capture's own time, where that is more than
  /// sampling and jitter explain: as the reference shows it, else the clock;
  /// relative.
  std::optional<double> common_wander;
  /// The same of the clock timed by the reference.
  std::optional<double> own_wander;
};

/// Relates two clocks of one capture.
/// Model:  both are seen through one time that runs as it likes; the ratio of
///         the two mean periods over the same stretch of it does not depend on
///         that
/// In:     views from common_window(), and what estimate_clock() says of each
/// Out:    where neither is seen to wander, nor to share most of its jitter
///         with the other, each one's own half-width; else that of the clock's
///         edges timed by the reference, if both have enough
/// Source: docs/measurement-model.md#reference-channel
ClockRatio relate_clocks(const CommonViews& views, const ClockEstimate& clock,
                         const ClockEstimate& reference,
                         const ParallelFor& parallel_for);

}  // namespace clockassay
