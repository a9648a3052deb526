// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <string>

#include "app/plan_options.h"
#include "clockassay/base/result.h"

namespace clockassay {

/// Works out a plan and prints it. A plan is no verdict: done is done, whatever
/// it says.
/// Errors: kUsage for a clock path that cannot be read and for values that
///         contradict each other; kNoInput, kBadSpec of an instrument file;
///         what cannot be written
Result<void> run_plan(PlanArguments arguments, const std::string& version);

}  // namespace clockassay
