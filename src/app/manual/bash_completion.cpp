// SPDX-License-Identifier: GPL-3.0-or-later
#include <map>
#include <string>
#include <vector>

#include "app/manual/completion_parts.h"
#include "app/manual/manual.h"
#include "app/option_table.h"

namespace clockassay {
namespace {

// Files and folders are left to readline, which knows how to quote them.
constexpr const char* kRest = R"(
_clockassay() {
  local current=${COMP_WORDS[COMP_CWORD]} before=${COMP_WORDS[COMP_CWORD - 1]}
  local command=${COMP_WORDS[1]} first=2 equals= ended= word
  local options='' once='' kind='' words='' arguments=''
  COMPREPLY=()
  if ((COMP_CWORD == 1)); then
    mapfile -t COMPREPLY < <(compgen -W "$_clockassay_first" -- "$current")
    return
  fi
  if [[ $command == plan ]]; then
    if ((COMP_CWORD == 2)); then
      mapfile -t COMPREPLY < <(compgen -W "$_clockassay_plans" -- "$current")
      return
    fi
    command+=" ${COMP_WORDS[2]}"
    first=3
  fi
  # --option=value comes as three words.
  if [[ $current == '=' ]]; then
    current='' equals=1
  elif [[ $before == '=' ]]; then
    before=${COMP_WORDS[COMP_CWORD - 2]} equals=1
  fi
  for word in "${COMP_WORDS[@]:first:COMP_CWORD - first}"; do
    if [[ $word == -- ]]; then ended=1; fi
  done
  _clockassay_table "$command" "$before"
  if [[ $ended || ($kind == only_equals && ! $equals) ]]; then kind=''; fi
  if [[ ! $kind && ! $ended && ($current == -* || ! $arguments) ]]; then
    # What can be given once is offered once.
    for word in "${COMP_WORDS[@]:first:COMP_CWORD - first}"; do
      if [[ " $once " == *" $word "* ]]; then options=${options/"$word "/}; fi
    done
    mapfile -t COMPREPLY < <(compgen -W "$options" -- "$current")
    return
  fi
  case ${kind:-$arguments} in
    file) compopt -o default ;;
    folder) compopt -o dirnames ;;
    requirement) words=$_clockassay_requirements ;;&
    words | requirement)
      mapfile -t COMPREPLY < <(compgen -W "$words" -- "$current") ;;
  esac
} && complete -F _clockassay clockassay
)";

const char* kind_name(ValueKind kind) {
  switch (kind) {
    case ValueKind::kFile:
      return "file";
    case ValueKind::kFolder:
      return "folder";
    case ValueKind::kRequirement:
      return "requirement";
    case ValueKind::kText:
      break;
  }
  return "text";
}

// What is said where the value of an option stands.
std::string value_setting(const OptionInfo& option) {
  if (option.value.starts_with('[')) return "kind=only_equals";
  const ValueKind kind = value_kind(option.value);
  if (kind != ValueKind::kText || option.words.empty()) {
    return std::string("kind=") + kind_name(kind);
  }
  return "kind=words words=" + shell_quoted(joined(words_for(option)));
}

std::string table_row(const CommandInfo& command) {
  std::string all;
  std::string once;
  std::map<std::string, std::string> patterns;  // of options, by their setting
  for (const OptionInfo& option : options_of(command.command)) {
    const std::string name(option.name);
    all += name + ' ';
    if (!option.repeatable) once += name + ' ';
    if (option.value.empty()) continue;
    std::string& pattern = patterns[value_setting(option)];
    pattern += (pattern.empty() ? "" : " | ") + name;
  }
  std::string out = "    " + shell_quoted(command.name) +
                    ")\n      options=" + shell_quoted(all + "--help") +
                    "\n      once=" + shell_quoted(once) + '\n';
  if (!command.arguments.empty()) {
    out += std::string("      arguments=") +
           kind_name(value_kind(command.arguments)) + '\n';
  }
  out += "      case $2 in\n";
  for (const auto& [setting, pattern] : patterns) {
    out.append("        ").append(pattern).append(") ");
    out.append(setting).append(" ;;\n");
  }
  return out + "      esac ;;\n";
}

}  // namespace

std::string bash_completion() {
  std::vector<std::string_view> plans;
  for (const CommandInfo& c : commands_below("plan")) {
    plans.push_back(second_word(c));
  }
  std::string out =
      "# SPDX-License-Identifier: GPL-3.0-or-later\n"
      "# Completion of clockassay in bash, made from its table of options.\n\n"
      "_clockassay_first=" +
      shell_quoted(joined(first_words()) + " --help --version") +
      "\n_clockassay_plans=" + shell_quoted(joined(plans) + " --help") +
      "\n_clockassay_requirements=" + shell_quoted(joined(requirement_ids())) +
      "\n\n# _clockassay_table COMMAND OPTION : what the command has, and what "
      "the value\n# of the option is.\n_clockassay_table() {\n  case $1 in\n";
  for (const CommandInfo& c : commands()) out += table_row(c);
  return out + "  esac\n}\n" + kRest;
}

}  // namespace clockassay
