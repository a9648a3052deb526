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

/// One option, for the parser, the help text and suggestions alike.
struct OptionInfo {
  std::string_view name;  ///< "--timebase"
  /// "TOL"; empty: a switch; "[=TOL]": a switch that may have a value
  std::string_view value;
  bool repeatable = false;
  unsigned commands = 0;  ///< bits, 1 << Command
  std::string_view help;
};

/// The options of one command, in the order of its help text.
std::vector<OptionInfo> options_of(Command command);

}  // namespace clockassay
