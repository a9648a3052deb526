// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <cstdint>
#include <optional>
#include <string_view>

#include "clockassay/capture/level_event.h"

namespace clockassay {

/// The level of a value letter: the four of IEEE 1364 and the nine of IEEE
/// 1164, in either case; nullopt for anything else.
std::optional<Level> vcd_level(char letter);

/// What follows the # of a stamp.
struct VcdStamp {
  enum class Fault { kNone, kNoNumber, kFraction, kTooLarge };
  Fault fault = Fault::kNone;
  std::int64_t ticks = 0;
  bool unusual = false;  ///< written with a fraction of zero
};
VcdStamp vcd_stamp(std::string_view digits);

}  // namespace clockassay
