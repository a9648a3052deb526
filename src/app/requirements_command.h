// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <string>

#include "app/command_line.h"
#include "app/exit_codes.h"

namespace clockassay {

/// Prints what the interfaces asked for, or all that are known, ask of a clock.
/// Errors: kUsage for an id there is none of, with the nearest.
Result<void> run_requirements(const RequirementsArguments& arguments,
                              const std::string& version);

}  // namespace clockassay
