// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <span>
#include <string_view>
#include <vector>

namespace clockassay {

/// What clockassay does, one command a job.
enum class Command {
  kMeasure,
  kVerify,
  kCompare,
  kDrift,
  kTrend,
  kRequirements,
  kSimulate,
  kPlanLoad,
  kPlanDrive,
  kPlanPath,
  kPlanCapture
};

struct CommandInfo {
  Command command;
  std::string_view name;
  std::string_view arguments;  ///< "CAPTURE...", or nothing
  std::string_view job;        ///< one line of help
};

std::span<const CommandInfo> commands();

/// What a value or an argument names, for whoever completes a command line.
enum class ValueKind {
  kText,
  kFile,
  kFolder,
  kRequirement  ///< the ID of an interface's demand
};

/// As the table writes it: "FILE", "CAPTURE...", "[ID...]".
ValueKind value_kind(std::string_view written);

/// One option, for the parser, the help text, the manual, completions and
/// suggestions alike.
struct OptionInfo {
  std::string_view name;  ///< "--timebase"
  /// "TOL"; empty: a switch; "[=TOL]": a switch that may have a value
  std::string_view value;
  bool repeatable = false;
  unsigned commands = 0;  ///< bits, 1 << Command
  std::string_view help;
  /// What the value is one of; empty: anything else.
  std::span<const std::string_view> words = {};

  bool is_of(Command command) const {
    return (commands & (1U << static_cast<unsigned>(command))) != 0;
  }
};

/// Every row. An option that means another thing in another command has two.
std::span<const OptionInfo> all_options();

/// The options of one command, in the order of its help text.
std::vector<OptionInfo> options_of(Command command);

/// The words the value of an option is one of; empty: anything else.
std::span<const std::string_view> words_allowed(Command command,
                                                std::string_view name);

}  // namespace clockassay
