// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <cstdint>

#include "clockassay/base/units.h"

namespace clockassay {

/// The logic level of a channel. Unknown covers x, z and everything else from
/// which no level follows; no period is ever formed across it.
enum class Level : std::uint8_t { kLow, kHigh, kUnknown };

/// The level a known one turns to.
constexpr Level opposite(Level known) {
  return known == Level::kLow ? Level::kHigh : Level::kLow;
}

/// A statement of the file: from `time` on the channel has `level`.
struct LevelEvent {
  Ticks time;
  Level level;
  friend bool operator==(const LevelEvent&, const LevelEvent&) = default;
};

}  // namespace clockassay
