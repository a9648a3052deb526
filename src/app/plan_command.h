// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <string>

#include "app/plan_options.h"
#include "clockassay/base/result.h"

namespace clockassay {

/// Works out a plan and prints it. A plan is no verdict: done is done, whatever
/// it says.
/// Errors: kUsage for a clock path that cannot be read and for values that
///         contradict each other.
Result<void> run_plan(const PlanArguments& arguments,
                      const std::string& version);

}  // namespace clockassay
