// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "clockassay/drift/choice.h"

namespace clockassay {

inline bool within(double temperature_c, const Span& span) {
  return temperature_c >= span.low_c && temperature_c <= span.high_c;
}

inline bool within(const Span& part, const Span& span) {
  return within(part.low_c, span) && within(part.high_c, span);
}

}  // namespace clockassay
