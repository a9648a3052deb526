// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <span>
#include <string_view>

#include "clockassay/analysis/record.h"
#include "clockassay/base/result.h"

namespace clockassay {

/// What the process returns, for scripts.
enum class ExitCode {
  kDone = 0,
  kFail = 1,
  kUndecided = 2,
  kUsage = 64,
  kBadData = 65,
  kNoInput = 66,
  kInternal = 70,
  kCannotCreate = 73,
  kInputOutput = 74,
  kBadSpec = 78,
};

/// What a code says, for the help text and the manual.
struct ExitMeaning {
  ExitCode code;
  std::string_view meaning;
};

/// Every code, in their order.
std::span<const ExitMeaning> exit_meanings();

/// The exit code of one error.
ExitCode exit_code(ErrorCode code);

/// The exit code of a run. What outranks what: our own bug; an output that
/// could not be written; a fail; the first other error; undecided; done.
ExitCode exit_code(const Record& record, bool allow_undecided);

}  // namespace clockassay
