// SPDX-License-Identifier: GPL-3.0-or-later
#include <string>
#include <vector>

#include "app/manual/completion_parts.h"
#include "app/manual/manual.h"
#include "app/option_table.h"

namespace clockassay {
namespace {

constexpr const char* kHead =
    R"(# SPDX-License-Identifier: GPL-3.0-or-later
# Completion of clockassay in fish, made from its table of options.

# __clockassay_is COMMAND : whether that command is typed, no more or with more
# behind it; "" where there is none yet.
function __clockassay_is
    set -l words (commandline -opc)
    set -l command $words[2]
    if test "$command" = plan; and set -q words[3]
        set command "plan $words[3]"
    end
    test "$command" = "$argv"
end

# __clockassay_at_argument OPTION... : whether an argument is typed, and not the
# value of one of these options.
function __clockassay_at_argument
    not contains -- (commandline -opc)[-1] $argv
    and not string match -q -- '--*=*' (commandline -ct)
end

complete -c clockassay -f
complete -c clockassay -n '__clockassay_is ""' -l help -d 'print the commands'
complete -c clockassay -n '__clockassay_is ""' -l version \
    -d 'print the version'
complete -c clockassay -n '__clockassay_is plan' -l help \
    -d 'print what can be planned'
)";

// In single quotes only \ and ' mean something.
std::string fish_quoted(std::string_view text) {
  std::string out = "'";
  for (const char c : text) {
    if (c == '\\' || c == '\'') out += '\\';
    out += c;
  }
  return out + '\'';
}

// Options given already stay: a condition on that would hide their values, too.
std::string row(std::string_view command) {
  return "complete -c clockassay -n " +
         fish_quoted("__clockassay_is \"" + std::string(command) + '"');
}

std::string value_of(const OptionInfo& option) {
  switch (value_kind(option.value)) {
    case ValueKind::kFile:
      return " -r -F";
    case ValueKind::kFolder:
      return " -x -a '(__fish_complete_directories)'";
    case ValueKind::kRequirement:
    case ValueKind::kText:
      break;
  }
  // A value that may lack stands in the same word or nowhere.
  if (option.value.empty() || option.value.starts_with('[')) return {};
  const std::string words = joined(words_for(option));
  return words.empty() ? " -x" : " -x -a " + fish_quoted(words);
}

std::string word_row(std::string_view before, std::string_view word,
                     std::string_view job) {
  return row(before) + " -a " + std::string(word) + " \\\n    -d " +
         fish_quoted(job) + '\n';
}

std::string argument_row(const CommandInfo& command) {
  if (command.arguments.empty()) return {};
  std::vector<std::string_view> with_value;
  for (const OptionInfo& option : options_of(command.command)) {
    if (!option.value.empty() && !option.value.starts_with('[')) {
      with_value.push_back(option.name);
    }
  }
  const bool files = value_kind(command.arguments) == ValueKind::kFile;
  return "complete -c clockassay -n " +
         fish_quoted("__clockassay_is \"" + std::string(command.name) +
                     "\"; and __clockassay_at_argument " + joined(with_value)) +
         (files ? " -F" : " -a " + fish_quoted(joined(requirement_ids()))) +
         '\n';
}

std::string command_rows(const CommandInfo& command) {
  std::string out = "\n# " + std::string(command.name) + '\n';
  for (const OptionInfo& option : options_of(command.command)) {
    out += row(command.name) + " \\\n    -l " +
           std::string(option.name.substr(2)) + value_of(option) + " -d " +
           fish_quoted(short_help(option.help)) + '\n';
  }
  out +=
      row(command.name) + " -l help \\\n    -d 'print what the options are'\n";
  return out + argument_row(command);
}

}  // namespace

std::string fish_completion() {
  std::string out = kHead;
  for (const std::string_view word : first_words()) {
    out += word_row("", word, job_of(word));
  }
  for (const CommandInfo& c : commands_below("plan")) {
    out += word_row("plan", second_word(c), c.job);
  }
  for (const CommandInfo& c : commands()) out += command_rows(c);
  return out;
}

}  // namespace clockassay
