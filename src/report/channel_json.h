// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <nlohmann/json.hpp>

#include "clockassay/analysis/record.h"

namespace clockassay {

/// A channel and all that was measured of it, as the schema has it.
nlohmann::ordered_json channel_json(const ChannelResult& channel);

}  // namespace clockassay
