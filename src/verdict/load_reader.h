// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <nlohmann/json.hpp>
#include <string>

#include "clockassay/base/result.h"
#include "clockassay/verdict/specification.h"

namespace clockassay {

/// The member "load" of a clock: { "nominal": "12pF", "capacitors": ["15pF",
/// "15pF"], "stray_across" or "stray_per_pin": "4pF", "c0": "3pF", "c1":
/// "8fF" }; all but "nominal" may be left out.
/// Errors: kBadSpec with the JSON pointer; values no crystal has are refused,
///         they are units mistaken.
Result<LoadSpec> read_load(const nlohmann::json& value,
                           const std::string& pointer);

}  // namespace clockassay
