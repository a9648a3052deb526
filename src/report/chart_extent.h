// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "clockassay/report/chart.h"

namespace clockassay {

/// What the axes of a picture run over, as on_scale() has it.
struct ChartExtent {
  double x_low = 0.0;
  double x_high = 1.0;
  double y_low = 0.0;
  double y_high = 1.0;
};

/// A value as it is laid on an axis: its logarithm to the base of ten, rows
/// downwards. NaN where it cannot be.
double on_scale(double value, AxisScale scale);

/// All series and levels, with some room about them. Never empty.
ChartExtent extent_of(const Chart& chart);

}  // namespace clockassay
