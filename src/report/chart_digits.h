// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <string>
#include <vector>

#include "clockassay/report/chart.h"

namespace clockassay {

// The decimal exponent of the last place that means something, one a value:
// what is shown as a figure is rounded there (JCGM 100:2008, 7.2.6).

/// Of where the values are: a hundredth of the way to the next, and four digits
/// at least.
std::vector<int> places_of_x(const Chart& chart, const ChartSeries& series);

/// Of the values, and of low and high beside them: two digits of what they
/// leave open. Where that is not known four of the largest, three of each on an
/// axis of powers of ten; counts in full.
std::vector<int> places_of_values(const Chart& chart,
                                  const ChartSeries& series);

/// "+2 500" is written as it is asked for: limits are exact.
bool is_exact(const ChartSeries& series);

/// A level to as many digits as it is known to.
std::string level_text(const ChartLevel& level);

}  // namespace clockassay
