// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <string>

#include "app/command_line.h"
#include "app/exit_codes.h"

namespace clockassay {

/// Runs `verify --watch` until it is told to end (SIGTERM, SIGINT). What it was
/// at then is judged to the end.
/// Out:    as for a batch of what was judged in this run
ExitCode run_watch(const CommandLine& line, const std::string& version);

}  // namespace clockassay
