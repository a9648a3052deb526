// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <optional>
#include <string>

#include "clockassay/estimate/oscillator_character.h"

namespace clockassay {

/// "The clock behaves like …: …." Absent where nothing can be told.
std::optional<std::string> behaves_like(const OscillatorCharacter& character);

}  // namespace clockassay
