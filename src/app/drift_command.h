// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <string>

#include "app/command_line.h"
#include "app/exit_codes.h"

namespace clockassay {

/// Runs `drift` from a series, or one long capture, to reports.
ExitCode run_drift(const CommandLine& line, const std::string& version);

}  // namespace clockassay
