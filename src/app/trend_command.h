// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <string>

#include "app/command_line.h"
#include "app/exit_codes.h"

namespace clockassay {

/// Runs `trend` from a store of results to reports.
ExitCode run_trend(const CommandLine& line, const std::string& version);

}  // namespace clockassay
