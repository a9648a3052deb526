// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "app/command_line.h"
#include "app/thread_pool.h"
#include "clockassay/analysis/drift_result.h"
#include "clockassay/analysis/record.h"
#include "clockassay/drift/temperature_log.h"

namespace clockassay {

/// Measures one long capture, cut by its temperatures.
/// Errors: those of the capture; kBadData where log and capture have no time in
///         common
Result<MeasuredSeries> measure_long_capture(const TemperatureLog& log,
                                            const CommandLine& line,
                                            ThreadPool& pool, Record& record);

}  // namespace clockassay
