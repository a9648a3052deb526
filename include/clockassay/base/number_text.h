// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <string>

namespace clockassay {

/// At most `digits` significant digits, no trailing zeros: "8.00016".
/// Independent of the locale.
std::string number_text(double value, int digits);

enum class LimitSide { kLow, kHigh };

/// A limit as it is shown: one of up to nine digits, as anybody states one,
/// stays. What takes more was worked out, and is rounded to six digits inwards,
/// so that nothing beyond the limit looks as if it were within.
double shown_limit(double limit, LimitSide side);

}  // namespace clockassay
