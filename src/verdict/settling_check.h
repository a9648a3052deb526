// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <string>

#include "clockassay/verdict/verdict.h"

namespace clockassay {

/// A check, and why it came out so.
struct SettlingResult {
  Check check;
  std::string reason;
};

/// Whether a clock had settled at the time stated for it: nothing after that is
/// off the final frequency by more than the make tolerance (half of its width)
/// and what is not known of it.
///   fail when a part wholly after that time is, and nothing parts the clock
///   within it; undecided when one reaches across that time or what parts the
///   clock, when anything parts it later than that, however slight, when its
///   course is not seen, or from later on only, or when the final frequency, or
///   the capture's own time, is not known to that tolerance, or when the parts
///   that are shown to keep it, with all that is not known of them, leave a
///   moment out; else pass, with the length of these parts in the reason.
/// Cost:   O(n log² n) for n points of the course
/// In:     clock.settle_within_s stated
/// Source: docs/verdict.md#settling
SettlingResult check_settling(const ClockSpec& clock,
                              const FrequencyHistory& history);

}  // namespace clockassay
