// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <string>

#include "clockassay/base/rational.h"
#include "clockassay/base/units.h"

namespace clockassay {

/// `time` in seconds as exact text: a decimal number such as "0.000125" where
/// there is one, else a fraction such as "7/3".
std::string exact_seconds(Ticks time, const Rational& tick_s);

}  // namespace clockassay
