// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "clockassay/analysis/drift_result.h"

namespace clockassay {

/// Leaves each measurement of a series once and says so: rows that are alike to
/// the last digit, a capture and its stored result, and captures that are alike
/// byte for byte. Captures that were given another temperature beside are among
/// what is lost, for one of the two is wrong.
/// Source: docs/drift.md#a-series
void drop_repeats(MeasuredSeries& series);

}  // namespace clockassay
