// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "app/command_line.h"
#include "app/thread_pool.h"
#include "clockassay/analysis/drift_result.h"
#include "clockassay/analysis/record.h"
#include "clockassay/drift/series_table.h"

namespace clockassay {

/// The path of a capture that a series names: beside the series.
std::string path_beside(const std::string& series, const std::string& path);

/// Measures every row of a series. Captures go into the record, and so do the
/// errors of those that cannot be used; the others are measured all the same.
/// Errors: kUsage where the clock is on channels of several names
Result<MeasuredSeries> measure_series(const std::string& path,
                                      const std::vector<SeriesRow>& rows,
                                      const CommandLine& line, ThreadPool& pool,
                                      Record& record);

}  // namespace clockassay
