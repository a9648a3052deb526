// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <string_view>

#include "clockassay/base/result.h"
#include "clockassay/verdict/specification.h"
#include "verdict/requirement_parameters.h"

namespace clockassay {

/// A requirement from its id and the parameters given with it.
/// Errors: kUsage for an id or parameter that does not exist, one missing,
///         impossible values.
Result<RequirementAsked> resolve_requirement(
    std::string_view id, const RequirementParameters& parameters);

/// The same from "usb-fs-device" or "can-classic,sjw=1,tbit=16,pb1=5,pb2=4".
Result<RequirementAsked> read_requirement_option(std::string_view text);

/// That a pin expected at that frequency shows something of what is asked.
/// Errors: kUsage where that is a duty alone, of a clock of another frequency.
Result<void> check_shown(const RequirementAsked& asked,
                         const Rational& expected_hz);

}  // namespace clockassay
