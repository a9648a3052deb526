// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <nlohmann/json.hpp>

#include "clockassay/analysis/drift_result.h"

namespace clockassay {

/// The curve of one board, every key of the schema in its order.
nlohmann::ordered_json drift_json(const DriftResult& result);

}  // namespace clockassay
