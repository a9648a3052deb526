// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <nlohmann/json.hpp>

#include "clockassay/analysis/record.h"
#include "clockassay/base/result.h"

namespace clockassay {

/// The record as a tree, every key of the schema in its order.
/// Errors: kInternal naming the first number that is not finite: the JSON
/// library would print it as null, which here means unknown.
Result<nlohmann::ordered_json> record_json(const Record& record);

}  // namespace clockassay
