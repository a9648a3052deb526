// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "clockassay/drift/curve.h"

namespace clockassay {

/// Whether the residuals of points that state no u are no scatter of one size:
/// their size goes with the temperature, or with the distance from the middle,
/// or the largest is far beyond the median one.
/// Source: docs/drift.md#the-choice
bool is_no_scatter(const CurveFit& fit);

}  // namespace clockassay
