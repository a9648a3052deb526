// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <nlohmann/json.hpp>

#include "clockassay/verdict/verdict.h"

namespace clockassay {

/// A verdict with its checks, causes and what would decide, as the schema has
/// it.
nlohmann::ordered_json verdict_json(const Verdict& verdict);

}  // namespace clockassay
