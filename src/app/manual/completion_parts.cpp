// SPDX-License-Identifier: GPL-3.0-or-later
#include "app/manual/completion_parts.h"

#include <algorithm>

#include "clockassay/oscillator/requirements.h"

namespace clockassay {
namespace {

// Chosen: a heading such as "CSV: " is no help by itself.
constexpr std::size_t kShortestHelp = 10;

std::string_view first_word(std::string_view name) {
  return name.substr(0, name.find(' '));
}

}  // namespace

std::vector<std::string_view> first_words() {
  std::vector<std::string_view> words;
  for (const CommandInfo& c : commands()) {
    const std::string_view word = first_word(c.name);
    if (words.empty() || words.back() != word) words.push_back(word);
  }
  return words;
}

std::vector<CommandInfo> commands_below(std::string_view word) {
  std::vector<CommandInfo> found;
  for (const CommandInfo& c : commands()) {
    if (first_word(c.name) == word && c.name != word) found.push_back(c);
  }
  return found;
}

std::string_view job_of(std::string_view word) {
  const auto* found =
      std::find_if(commands().data(), commands().data() + commands().size(),
                   [word](const CommandInfo& c) { return c.name == word; });
  return found != commands().data() + commands().size()
             ? found->job
             : "what to expect, before anything is soldered or captured";
}

std::string_view second_word(const CommandInfo& command) {
  const std::size_t blank = command.name.find(' ');
  return blank == std::string_view::npos ? "" : command.name.substr(blank + 1);
}

std::vector<std::string_view> requirement_ids() {
  std::vector<std::string_view> ids;
  for (const Requirement& r : requirements()) ids.push_back(r.id);
  return ids;
}

std::vector<std::string_view> words_for(const OptionInfo& option) {
  if (value_kind(option.value) == ValueKind::kRequirement) {
    return requirement_ids();
  }
  return {option.words.begin(), option.words.end()};
}

std::string_view short_help(std::string_view help) {
  std::size_t end = help.size();
  for (const std::string_view mark : {": ", "; ", ". "}) {
    end = std::min(end, help.find(mark, kShortestHelp));
  }
  return help.substr(0, end);
}

std::string joined(const std::vector<std::string_view>& words) {
  std::string out;
  for (const std::string_view word : words) {
    out += (out.empty() ? "" : " ") + std::string(word);
  }
  return out;
}

std::string shell_quoted(std::string_view text) {
  std::string out = "'";
  for (const char c : text) {
    if (c == '\'') {
      out += "'\\''";
    } else {
      out += c;
    }
  }
  return out + '\'';
}

}  // namespace clockassay
