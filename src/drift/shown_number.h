// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <algorithm>
#include <array>
#include <charconv>
#include <cmath>
#include <string>

#include "clockassay/base/number_text.h"

namespace clockassay {

/// A number in a sentence.
inline std::string shown(double value) {
  constexpr int kDigits = 4;
  return number_text(value, kDigits);
}

/// "20.7 ppm ± 3.6 ppm": the expanded uncertainty with two significant digits,
/// the value to the same place (JCGM 100:2008, 7.2.6).
inline std::string shown_with(double value, double expanded,
                              const std::string& unit) {
  if (!(expanded > 0.0) || !std::isfinite(expanded)) {
    return shown(value) + ' ' + unit;
  }
  constexpr double kMostDecimals = 9.0;
  const int decimals = static_cast<int>(
      std::clamp(1.0 - std::floor(std::log10(expanded)), 0.0, kMostDecimals));
  const auto text = [decimals](double number) {
    std::array<char, 400> digits;
    const auto end = std::to_chars(digits.data(), digits.data() + digits.size(),
                                   number, std::chars_format::fixed, decimals);
    return std::string(digits.data(), end.ptr);
  };
  return text(value) + ' ' + unit + " \u00B1 " + text(expanded) + ' ' + unit;
}

}  // namespace clockassay
