// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <nlohmann/json.hpp>

#include "clockassay/analysis/record.h"

namespace clockassay {

/// One entry of "comparisons" for each clock.
nlohmann::ordered_json comparisons_json(const ComparisonResult& comparison);

/// What was compared, and how: "comparison".
nlohmann::ordered_json comparison_json(const ComparisonResult& comparison);

}  // namespace clockassay
