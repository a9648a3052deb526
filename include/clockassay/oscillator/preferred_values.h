// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <cstdint>
#include <span>
#include <vector>

#include "clockassay/base/units.h"

namespace clockassay {

/// Series of preferred values, twelve or twenty-four to the decade.
enum class ESeries { kE12, kE24 };

/// "E12", "E24".
const char* e_series_name(ESeries series);

/// One decade, in tenths: 10, 12, 15 … 82.
/// Source: IEC 60063 (values as commonly printed; the standard was not opened)
std::span<const std::uint8_t> e_series_decade(ESeries series);

/// Every value from `low` to `high`, both included, ascending.
/// In:     0 < low <= high
std::vector<Farads> preferred_values(ESeries series, Farads low, Farads high);

}  // namespace clockassay
