// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <string>
#include <vector>

#include "app/command_line.h"
#include "clockassay/analysis/drift_result.h"
#include "clockassay/analysis/record.h"

namespace clockassay {

/// The warnings of a channel and its capture as a point carries them; that of
/// the timebase is of the series as a whole, which says it once.
std::vector<PointWarning> point_warnings(const std::vector<Warning>& channel,
                                         const std::vector<Warning>& capture);

/// "\"a\", \"b\"".
std::string joined(const std::vector<std::string>& names);

Error several_clocks(const std::vector<std::string>& names);

/// What is stated of the instrument's clock, else what is assumed.
Timebase timebase_of(const ReadingArguments& reading);

/// What is told of a budget, and of what was measured by.
void take_budget(const Budget& budget, const Timebase& timebase,
                 TemperaturePoint& point);

}  // namespace clockassay
