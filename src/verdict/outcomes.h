// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <string>
#include <utility>
#include <vector>

#include "clockassay/verdict/specification.h"
#include "clockassay/verdict/verdict.h"
#include "verdict/checks.h"

namespace clockassay {

/// The limits that e ± U has to keep to for a check of ppm to pass; for `life`
/// what temperature and ageing leave of them, low above high where nothing.
std::pair<double, double> limits_to_pass(const Check& check,
                                         const ClockSpec& clock);

/// What the checks can come to.
struct Outcomes {
  bool pass = false;
  bool undecided = false;
  bool fail = false;
  std::string open;  ///< what stays undecided, where anything may
};

/// What they can come to once the frequency is known well, wherever within
/// e ± U it is now. Checks of anything else stay as they are.
Outcomes possible_outcomes(const std::vector<Check>& checks,
                           const ClockSpec& clock, const MeasuredError& error);

/// "The verdict can then be pass or fail."
std::string outcomes_sentence(const Outcomes& outcomes);

}  // namespace clockassay
