// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <string>

namespace clockassay {

/// "46.6 kHz", "1.43 ns": so many significant digits, a prefix and a unit, for
/// sentences. In: finite, 1 <= digits <= 9
std::string prefixed_number(double value, int digits, const char* unit);

}  // namespace clockassay
