// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <string>

#include "app/command_line.h"
#include "app/exit_codes.h"

namespace clockassay {

/// Runs `compare` from two captures or stored results to reports.
ExitCode run_compare(const CommandLine& line, const std::string& version);

}  // namespace clockassay
