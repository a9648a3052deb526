// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <string>

#include "app/option_table.h"

namespace clockassay {

/// What the program does and its commands.
std::string general_help();

/// What can be planned.
std::string plan_help();

/// What a command's arguments may be, in lines of 80 columns; empty where the
/// options say all. A line that is indented stands by itself.
std::string arguments_note(Command command);

/// One command and its options.
std::string command_help(Command command);

}  // namespace clockassay
