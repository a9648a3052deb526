// SPDX-License-Identifier: GPL-3.0-or-later
#include "app/help_text.h"

#include <algorithm>
#include <string_view>

#include "app/exit_codes.h"

namespace clockassay {
namespace {

constexpr std::size_t kWidth = 80;       // columns of a plain terminal
constexpr std::size_t kTextColumn = 24;  // where explanations begin
constexpr std::size_t kCodeColumn = 6;   // the same, of exit codes

constexpr const char* kCaptureNote =
    R"(CAPTURE is a CSV or VCD file, also packed with gzip or zstd, or - for standard
input; after -- everything is a CAPTURE. Quantities carry their units: 12MHz,
10ms, 30ppm. Options marked CSV say what a CSV file does not say itself;
--explain shows how it was read.
)";
constexpr const char* kSeriesNote = R"(SERIES is a CSV file, its header any of
  capture,frequency_hz,u_hz,temperature_c,u_temperature_c,time_s,board,sweep
and a row a temperature, 2000 at most: a capture (or a stored JSON result of
measure or verify), its path relative to SERIES, or a frequency. With
--temperature-log it is one long capture. Quantities carry their units: 12MHz,
30ppm. Options marked CSV say what a capture as CSV does not say itself.
)";

// A term and its explanation beside it, from a column on, broken at blanks.
std::string entry(const std::string& term, std::string_view text,
                  std::size_t begin = kTextColumn) {
  std::string out = "  " + term;
  if (out.size() + 2 > begin) {
    out += '\n' + std::string(begin, ' ');
  } else {
    out.append(begin - out.size(), ' ');
  }
  std::size_t column = begin;
  while (!text.empty()) {
    const std::size_t end = std::min(text.find(' '), text.size());
    if (column + end > kWidth) {
      out.back() = '\n';  // the blank before the word
      out.append(begin, ' ');
      column = begin;
    }
    out += text.substr(0, end);
    out += ' ';
    column += end + 1;
    text.remove_prefix(std::min(end + 1, text.size()));
  }
  out.back() = '\n';
  return out;
}

const CommandInfo& info_of(Command command) {
  return *std::find_if(
      commands().begin(), commands().end(),
      [command](const CommandInfo& c) { return c.command == command; });
}

}  // namespace

std::string general_help() {
  std::string out =
      "clockassay looks at captures of a clock pin and says how true the clock "
      "is.\n\n"
      "  clockassay COMMAND [options] ...\n\n"
      "Commands\n";
  for (const CommandInfo& c : commands()) {
    out += entry(std::string(c.name), c.job);
  }
  out +=
      "\nclockassay COMMAND --help explains the options of a command;\n"
      "clockassay --version says which version this is.\n\nReturns\n";
  for (const ExitMeaning& e : exit_meanings()) {
    out +=
        entry(std::to_string(static_cast<int>(e.code)), e.meaning, kCodeColumn);
  }
  return out;
}

std::string plan_help() {
  std::string out =
      "clockassay plan\n"
      "Before anything is soldered or captured. A plan is no verdict: it "
      "returns 0\nwhatever it says.\n\n";
  for (const CommandInfo& c : commands()) {
    if (c.name.substr(0, 5) == "plan ")
      out += entry(std::string(c.name), c.job);
  }
  return out + "\nclockassay plan load --help explains its options.\n";
}

std::string arguments_note(Command command) {
  if (command == Command::kMeasure || command == Command::kVerify) {
    return kCaptureNote;
  }
  return command == Command::kDrift ? kSeriesNote : std::string();
}

std::string command_help(Command command) {
  const CommandInfo& info = info_of(command);
  const std::string call = "clockassay " + std::string(info.name);
  std::string out =
      call + '\n' + std::string(info.job) + "\n\n  " + call + " [options]";
  if (!info.arguments.empty()) out += ' ' + std::string(info.arguments);
  out += "\n\n";
  if (const std::string note = arguments_note(command); !note.empty()) {
    out += note + '\n';
  }
  for (const OptionInfo& option : options_of(command)) {
    std::string term(option.name);
    if (!option.value.empty()) {
      term += (option.value.starts_with('[') ? "" : " ") +
              std::string(option.value);
    }
    out += entry(term, option.help);
  }
  out += entry("--help", "print this text");
  return out;
}

}  // namespace clockassay
