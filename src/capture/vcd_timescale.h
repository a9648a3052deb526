// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <string_view>

#include "clockassay/base/rational.h"
#include "clockassay/base/result.h"

namespace clockassay {

struct VcdTimescale {
  Rational tick_s;
  bool odd = false;  ///< not 1, 10 or 100 of a unit: tolerated
};

/// Reads what stands in a $timescale, without blanks, such as "10ns".
/// Errors: kBadData without a place.
Result<VcdTimescale> parse_vcd_timescale(std::string_view text);

}  // namespace clockassay
