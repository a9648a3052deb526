// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <optional>
#include <string>
#include <variant>

#include "app/option_values.h"
#include "clockassay/plan/capture_plan.h"
#include "clockassay/plan/drive_plan.h"
#include "clockassay/plan/load_plan.h"
#include "clockassay/plan/path_plan.h"
#include "clockassay/uncertainty/reference.h"

namespace clockassay {

/// A clock path to plan, as written.
struct PathPlanInput {
  std::string expression;
  PathSource source;
  std::optional<std::string> former = {};  ///< what there was, as written
};

/// What `plan` works out: the command line says which.
struct PlanArguments {
  std::variant<LoadPlanInput, DrivePlanInput, PathPlanInput, CapturePlanInput>
      input;
  /// Of plan capture: what the command line does not say is taken from there.
  std::optional<std::string> instrument;
  bool timebase_given = false;
  std::optional<std::string> json;    ///< path, "-" for standard output
  std::optional<std::string> report;  ///< path of a page; of a load
  std::optional<std::string> plots;   ///< a folder for pictures; of a load
  bool quiet = false;                 ///< what it comes to, no more
};

/// Takes a reference into a plan; a tolerance that is there already stays.
void take_reference(const ReferenceClock& reference, CapturePlanInput& input);

/// Whether a command is one of `plan`.
bool is_plan(Command command);

/// Reads the options of plan load, drive, path or capture; what is wrong or
/// missing is the reader's error.
PlanArguments read_plan(OptionReader& reader, Command command);

}  // namespace clockassay
