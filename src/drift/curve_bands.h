// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "clockassay/drift/choice.h"

namespace clockassay {

/// curve_at() and reading_at() at one place, for little more than one of them.
struct CurveBands {
  Stated curve;
  Stated reading;
};
CurveBands curve_bands(const CurveChoice& choice, const CurvePlace& place);

}  // namespace clockassay
