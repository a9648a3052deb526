// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <optional>
#include <span>

#include "clockassay/drift/curve.h"

namespace clockassay {

/// By how many kelvin the curve of the way up lies before that of the way down,
/// beside their offset in frequency: what a thermometer does that lags.
/// In:     a fit with sweeps
/// Out:    absent where the points do not tell it from the curve
/// Source: docs/drift.md#hysteresis
std::optional<Stated> sweep_lag(std::span<const DriftPoint> points,
                                const CurveFit& fit);

}  // namespace clockassay
