// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <string>

#include "clockassay/verdict/verdict.h"

namespace clockassay {

/// "-3.0 ppm ± 2.1 ppm", "48.2 % ± 1.1 %", "312 ps"; empty: no value.
std::string deviation_text(const Check& check);

/// "limit ±30 ppm", "at most 300 ps", "no limit asked".
std::string limit_text(const Check& check);

}  // namespace clockassay
