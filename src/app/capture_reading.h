// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <string>
#include <vector>

#include "app/command_line.h"
#include "app/thread_pool.h"
#include "clockassay/analysis/analyse.h"
#include "clockassay/analysis/record.h"
#include "clockassay/base/result.h"
#include "clockassay/drift/temperature_log.h"

namespace clockassay {

/// Which channels to take from a file; empty: all.
struct ChannelChoice {
  std::vector<std::string> names;
  bool may_be_missing = false;  ///< else a name not there is an error
  std::vector<SettlingAsked> settling = {};
  std::vector<FrequencyExpected> expected = {};
};

/// Reads one capture, compressed or not, and analyses it. `understood` is how
/// it was read as far as that went, also where it is then refused.
/// Errors: with the path: what reading says; kBadData under --strict.
Result<CaptureResult> read_and_analyse(const std::string& path,
                                       const ReadingArguments& arguments,
                                       const ChannelChoice& channels,
                                       ThreadPool& pool,
                                       Understanding& understood);

/// A capture cut by a temperature log.
struct CutCapture {
  double from_s = 0.0;  ///< what of it was asked for, since the first stamp
  double to_s = 0.0;
  std::vector<TimeWindow> windows;
  WindowedCapture result;
};

/// The same, window by window. Without windows nothing is in it.
Result<CutCapture> read_and_cut(const std::string& path,
                                const ReadingArguments& arguments,
                                const ChannelChoice& channels,
                                const TemperatureLog& log, ThreadPool& pool,
                                Understanding& understood);

}  // namespace clockassay
