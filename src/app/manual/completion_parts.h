// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <string>
#include <string_view>
#include <vector>

#include "app/option_table.h"

namespace clockassay {

/// The first words of the commands, each once: "plan" stands for four.
std::vector<std::string_view> first_words();

/// The commands that begin with a word, by their second one; empty for those of
/// one word.
std::vector<CommandInfo> commands_below(std::string_view first_word);

/// The job of a command, or of all that begin with "plan".
std::string_view job_of(std::string_view first_word);

/// The second word of "plan load".
std::string_view second_word(const CommandInfo& command);

/// What the value of an option is one of, IDs of requirements too; empty:
/// anything else.
std::vector<std::string_view> words_for(const OptionInfo& option);

/// The IDs of the requirements known.
std::vector<std::string_view> requirement_ids();

/// How a help text begins, short enough to stand beside an option.
std::string_view short_help(std::string_view help);

/// Words with blanks between them.
std::string joined(const std::vector<std::string_view>& words);

/// In single quotes for bash and zsh.
std::string shell_quoted(std::string_view text);

}  // namespace clockassay
