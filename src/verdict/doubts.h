// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <vector>

#include "clockassay/base/warning.h"
#include "clockassay/verdict/verdict.h"
#include "verdict/checks.h"

// What keeps a decision from standing that the figures alone would give; each
// says why, and what to do. A verdict that is not concerned stays as it is.
namespace clockassay {

/// What counts pulses runs at their mean rate. Whether cycles were lost by the
/// clock or by the capture is open, so what keeps time is held against both.
void judge_counted(const ClockSpec& clock, const ClockEvidence& evidence,
                   const MeasuredError& error, Verdict& verdict);

/// Where something broke the clock's run, the longest stretch of it has to fail
/// as well.
void apply_longest_stretch(const ClockSpec& clock,
                           const ClockEvidence& evidence, Verdict& verdict);

/// Where a few periods are off all others, the frequency of those others has to
/// fail as well, with a U that knows both; where those off are short, whatever
/// of the short ones is the clock's own.
void apply_steady_periods(const ClockSpec& clock, const ClockEvidence& evidence,
                          const MeasuredError& error, Verdict& verdict);

/// A pass does not stand beside a warning that could flip it, nor a fail beside
/// one that doubts how the file is read; any other decision is shown together
/// with them.
void apply_warnings(const std::vector<Warning>& warnings, Verdict& verdict);

/// A pass is one of the periods; that many pulses are missing is for the
/// reader.
void say_counted(const ClockSpec& clock, const ClockEvidence& evidence,
                 const MeasuredError& error, Verdict& verdict);

/// A clock the sampler cannot show looks like a slower one: then a capture that
/// seems to fail decides nothing either.
void apply_sampling_limit(const ClockSpec& clock,
                          const std::vector<Suspect>& suspects,
                          const ClockEvidence& evidence, Verdict& verdict);

}  // namespace clockassay
