// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <string>

/// What is installed beside the program, made from the table of options
/// (app/option_table.h), the help texts and the exit codes: nothing of these is
/// written twice.
namespace clockassay {

/// The manual page, in the macros of man(7).
std::string manual_page(const std::string& version);

/// What a shell offers while a command line is typed: commands, options of the
/// command chosen, the words a value is one of, IDs of requirements, files and
/// folders.
std::string bash_completion();
std::string zsh_completion();
std::string fish_completion();

}  // namespace clockassay
