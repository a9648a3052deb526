// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <nlohmann/json.hpp>

#include "clockassay/history/trend.h"

namespace clockassay {

/// One entry of "trends".
nlohmann::ordered_json trend_json(const Trend& trend);

}  // namespace clockassay
