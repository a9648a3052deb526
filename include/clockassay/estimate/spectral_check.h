// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <cstdint>

#include "clockassay/base/parallel.h"
#include "clockassay/edges/edge_store.h"
#include "clockassay/estimate/frequency_estimate.h"

namespace clockassay {

/// What the check is held against.
struct SpectralInput {
  std::int64_t rising = 0;    ///< rising edges in the view
  double period_ticks = 0.0;  ///< from the line
  double window_ticks = 0.0;
  double standard_uncertainty_ticks = 0.0;  ///< of the period
  double tick_s = 0.0;
};

/// The frequency from the spectrum of the rising edges as impulses: no cycle
/// number enters, so that lost or extra edges and wrong numbering show.
/// The train is demodulated with the expected frequency, averaged in bins of
/// time, tapered (Hann), transformed, and the peak interpolated by a parabola
/// through the logarithm of the magnitude. Of a clock that is modulated, whose
/// strongest line may be a sideband, the frequency is that of the line through
/// the phases of the bins.
/// Agrees when |difference| * T <= 0.02 + c window/period + 5 u T, in cycles
/// over the view's length T; c is 0.8, or up to 2.28 where the edges hardly
/// move past the sampler. Cannot show aliasing nor a wrong timebase. Not
/// applicable below 16 rising edges. Source:
/// docs/measurement-model.md#spectral-check
SpectralCheck check_spectrum(const EdgeView& view, const SpectralInput& input,
                             const ParallelFor& parallel_for);

}  // namespace clockassay
