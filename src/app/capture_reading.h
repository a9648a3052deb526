// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <string>
#include <vector>

#include "app/command_line.h"
#include "app/thread_pool.h"
#include "clockassay/analysis/record.h"
#include "clockassay/base/result.h"

namespace clockassay {

/// Which channels to take from a file, and which of them to analyse; empty:
/// all. A name to be read must be there; one to be analysed need not.
struct ChannelChoice {
  std::vector<std::string> read;
  std::vector<std::string> analyse;
};

/// Reads one capture and analyses it.
/// Errors: with the path: what reading says; kBadData under --strict.
Result<CaptureResult> read_and_analyse(const std::string& path,
                                       const ReadingArguments& arguments,
                                       const ChannelChoice& channels,
                                       ThreadPool& pool);

}  // namespace clockassay
