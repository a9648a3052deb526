// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <cstdint>

#include "clockassay/base/parallel.h"
#include "clockassay/base/rational.h"
#include "clockassay/base/units.h"
#include "clockassay/edges/edge_store.h"
#include "clockassay/estimate/edge_sums.h"
#include "clockassay/estimate/view_extremes.h"

namespace clockassay {

/// A clock as it was expected.
struct NominalClock {
  Rational frequency_hz = Rational(1);
  Ppm timebase_offset;  ///< of the instrument that counts it, where known
};

/// Slope, in a frame, of the ideal grid: its period in the capture's own ticks,
/// (1 + offset) / (frequency tick), less the frame's.
double nominal_slope(const NominalClock& nominal, const Rational& tick_s,
                     const EdgeFrame& frame);

/// Time-interval error against a grid of given period [ticks].
struct NominalError {
  double rms = 0.0;  ///< about its mean: the grid lies where that is zero
  double peak_to_peak = 0.0;
};

/// Of the rising edges, by their cycle numbers. An error of the frequency, and
/// of the timebase, is in it. Blocks are read only where their extremes leave
/// open whether they hold the highest or the lowest error.
/// In:     sums, extremes  of the view; slope  of the grid
/// Out:    the same bits for any threads
/// Source: docs/measurement-model.md#jitter
NominalError find_nominal_error(const EdgeView& view, const EdgeSums& sums,
                                const ViewExtremes& extremes, double slope,
                                const ParallelFor& parallel_for);

}  // namespace clockassay
