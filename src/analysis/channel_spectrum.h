// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "analysis/channel_analysis.h"
#include "clockassay/base/parallel.h"
#include "clockassay/base/result.h"
#include "clockassay/estimate/tie_spectrum.h"

namespace clockassay {

/// In:     a view of what the estimate is of
/// Errors: as tie_spectrum()
Result<TieSpectrum> spectrum_of(const Setting& s, const ClockEstimate& clock,
                                const EdgeView& view, bool interpolated,
                                const ParallelFor& parallel_for);

/// The spectrum of the stretch that the channel's frequency is of, or why there
/// is none. Nothing unless it is asked for. What sampling makes of interpolated
/// edges is not known.
void add_spectrum(const Setting& s, const AnalysedStretch& last,
                  bool interpolated, const ParallelFor& parallel_for,
                  ChannelResult& result);

}  // namespace clockassay
