// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <string>
#include <vector>

#include "app/exit_codes.h"

namespace clockassay {

/// Runs the program with the arguments after its name. Lets no exception out:
/// one that comes this far is our own bug (70).
ExitCode run(const std::vector<std::string>& args, const std::string& version);

}  // namespace clockassay
