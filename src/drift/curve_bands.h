// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "clockassay/drift/choice.h"

namespace clockassay {

/// curve_at() and reading_at() at one place, for little more than one of them.
struct CurveBands {
  Stated curve;
  Stated reading;
};
CurveBands curve_bands(const CurveChoice& choice, const CurvePlace& place);

/// What is in U of a branch for a loop that closes where the temperature turns
/// and is wider than its mean elsewhere: half of the offset, but no more than
/// the farthest point is off.
/// Source: docs/drift.md#hysteresis
double loop_at(const CurveChoice& choice, const CurvePlace& place);

}  // namespace clockassay
