// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <string>

#include "clockassay/base/number_text.h"

namespace clockassay {

/// A number in a sentence.
inline std::string shown(double value) {
  constexpr int kDigits = 4;
  return number_text(value, kDigits);
}

}  // namespace clockassay
