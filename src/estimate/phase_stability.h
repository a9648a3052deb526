// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "clockassay/estimate/stability.h"
#include "estimate/phase_sweep.h"

namespace clockassay {

/// describe_stability of any phases [ticks].
Stability describe_phases(const PhaseSource& source, const PhaseScale& scale,
                          const StabilityOptions& options,
                          const SweepLimits& limits,
                          const ParallelFor& parallel_for);

}  // namespace clockassay
