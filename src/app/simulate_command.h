// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "app/command_line.h"
#include "app/exit_codes.h"

namespace clockassay {

/// Runs `simulate`: the capture, and its truth where asked for.
ExitCode run_simulate(const SimulateArguments& arguments);

}  // namespace clockassay
