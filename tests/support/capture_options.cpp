// SPDX-License-Identifier: GPL-3.0-or-later
#include "support/capture_options.h"

#include <filesystem>

#include "app/command_line.h"
#include "support/read_text.h"

namespace clockassay::test {

Result<ReadOptions> capture_options(std::vector<std::string> args) {
  args.insert(args.begin(), "measure");
  args.emplace_back("capture");
  const auto line = parse_command_line(args, "");
  if (!line) return tl::unexpected(line.error());
  const ReadingArguments& given = line->reading;
  ReadOptions options;
  options.channels = given.channels;
  options.sample_rate_hz = given.sample_rate_hz;
  options.format = given.format;
  options.csv = given.csv;
  options.analogue = given.analogue;
  return options;
}

std::vector<std::string> options_beside(const std::string& path) {
  const std::string line =
      file_text(std::filesystem::path(path).replace_extension(".options"));
  std::vector<std::string> words;
  bool in_word = false;
  bool quoted = false;
  for (const char c : line) {
    if (c == '\'') quoted = !quoted;
    const bool blank = !quoted && (c == ' ' || c == '\n');
    if (!blank && !in_word) words.emplace_back();
    in_word = !blank;
    if (in_word && c != '\'') words.back() += c;
  }
  return words;
}

}  // namespace clockassay::test
