// SPDX-License-Identifier: GPL-3.0-or-later
#include <string>

#include "app/manual/completion_parts.h"
#include "app/manual/manual.h"
#include "app/option_table.h"

namespace clockassay {
namespace {

// What ends a text in _arguments and _describe: zshcompsys(1).
std::string escaped(std::string_view text) {
  std::string out;
  for (const char c : text) {
    if (c == ':' || c == '[' || c == ']' || c == '\\') out += '\\';
    out += c;
  }
  return out;
}

std::string function_name(std::string_view command) {
  std::string out = "_clockassay_" + std::string(command);
  for (char& c : out) {
    if (c == ' ') c = '_';
  }
  return out;
}

std::string action(ValueKind kind, const std::string& words) {
  switch (kind) {
    case ValueKind::kFile:
      return "_files";
    case ValueKind::kFolder:
      return "_files -/";
    case ValueKind::kRequirement:
    case ValueKind::kText:
      break;
  }
  return words.empty() ? " " : '(' + words + ')';
}

// "--timebase=[what it is]:TOL: ": the value in the same word or the next.
std::string specification(const OptionInfo& option) {
  const bool may_lack = option.value.starts_with('[');
  std::string out = option.repeatable ? "*" : "";
  out += option.name;
  if (!option.value.empty()) out += may_lack ? "=-" : "=";
  out += '[' + escaped(short_help(option.help)) + ']';
  if (!option.value.empty()) {
    out += (may_lack ? "::" : ":") + escaped(option.value) + ':' +
           action(value_kind(option.value), joined(words_for(option)));
  }
  return out;
}

std::string arguments_of(const CommandInfo& command) {
  const ValueKind kind = value_kind(command.arguments);
  return "*:" + escaped(command.arguments) + ':' +
         action(kind, joined(requirement_ids()));
}

std::string command_function(const CommandInfo& command) {
  std::string out = function_name(command.name) + "() {\n  _arguments -S";
  for (const OptionInfo& option : options_of(command.command)) {
    out += " \\\n    " + shell_quoted(specification(option));
  }
  out += " \\\n    '(- *)--help[print what the options are]'";
  if (!command.arguments.empty()) {
    out += " \\\n    " + shell_quoted(arguments_of(command));
  }
  return out + "\n}\n\n";
}

std::string item(std::string_view word, std::string_view job) {
  return "    " + shell_quoted(escaped(word) + ':' + escaped(job)) + '\n';
}

// The second word of "plan load".
std::string plan_function() {
  std::string items;
  for (const CommandInfo& c : commands_below("plan")) {
    items += item(second_word(c), c.job);
  }
  return "_clockassay_plan() {\n  local -a plans=(\n" + items +
         R"(  )
  _arguments -C '(- *)--help[print what can be planned]' \
    '1:what to plan:->plan' '*::option:->rest'
  case $state in
    plan) _describe 'what to plan' plans ;;
    rest) (( $+functions[_clockassay_plan_$words[1]] )) &&
      _clockassay_plan_$words[1] ;;
  esac
}

)";
}

}  // namespace

std::string zsh_completion() {
  std::string out =
      "#compdef clockassay\n"
      "# SPDX-License-Identifier: GPL-3.0-or-later\n"
      "# Completion of clockassay in zsh, made from its table of options.\n\n";
  for (const CommandInfo& c : commands()) out += command_function(c);
  std::string items;
  for (const std::string_view word : first_words()) {
    items += item(word, job_of(word));
  }
  out += plan_function() + "_clockassay() {\n  local -a jobs=(\n" + items;
  return out + R"(  )
  local curcontext=$curcontext state line
  typeset -A opt_args
  _arguments -C '(- *)--help[print the commands]' \
    '(- *)--version[print the version]' \
    '1:command:->command' '*::argument:->rest'
  case $state in
    command) _describe command jobs ;;
    rest) (( $+functions[_clockassay_$words[1]] )) && _clockassay_$words[1] ;;
  esac
}

_clockassay "$@"
)";
}

}  // namespace clockassay
