// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <string>

namespace clockassay {

/// At most `digits` significant digits, no trailing zeros: "8.00016".
/// Independent of the locale.
std::string number_text(double value, int digits);

}  // namespace clockassay
