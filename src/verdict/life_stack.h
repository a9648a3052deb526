// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <optional>
#include <string>
#include <vector>

#include "clockassay/verdict/life_stack.h"
#include "verdict/checks.h"

namespace clockassay {

/// What the check `life` adds up, share by share. Absent where neither
/// temperature nor ageing is stated, or the error is no usable number.
std::optional<LifeStack> life_stack(const SourceTolerance& tolerance,
                                    const MeasuredError& error);

/// What the figures over life leave open, in sentences.
std::vector<std::string> life_caveats(const SourceTolerance& tolerance);

}  // namespace clockassay
