// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <cstdint>

#include "clockassay/edges/edge_store.h"
#include "clockassay/estimate/edge_line.h"
#include "clockassay/estimate/edge_sums.h"

namespace clockassay {

/// Below this many periods, or rising edges, jitter that accumulates is looked
/// for as among few; from here on the scatter of the parts shows it better.
/// Chosen.
inline constexpr std::int64_t kFewPeriods = 256;

/// Whether periods may deviate each by itself, as where jitter accumulates.
/// Neighbouring periods then deviate independently, where white jitter of the
/// edges makes them deviate oppositely: their correlation is -1/2, with a
/// standard deviation of sqrt(1/2/n) over n periods (Bartlett's formula for a
/// moving average). So if they vary by more than sampling can make them, and
/// either the correlation is larger than white jitter makes it once in twenty
/// times, or there are too few periods to tell.
/// In:     window of an edge [ticks]; false from 256 periods on
bool may_accumulate(const EdgeSums& sums, double window);

/// Half-width at 95 % of the line's slope [ticks], whatever the noise of the
/// edges: by the noise that they show, or below eight periods as if every
/// period deviated by itself. 0 where they are too few even for that.
/// In:     line  through all edges of the view, from sums
/// Source: docs/measurement-model.md#scatter
double few_edges_half_width(const EdgeView& view, const EdgeSums& sums,
                            const LineFit& line);

}  // namespace clockassay
