// SPDX-License-Identifier: GPL-3.0-or-later
#include "clockassay/base/prefixed_number.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <cstddef>
#include <cstdio>
#include <cstdlib>

namespace clockassay {

std::string prefixed_number(double value, int digits, const char* unit) {
  constexpr std::array kPrefixes = {"f", "p", "n", "µ", "m", "", "k", "M", "G"};
  constexpr int kNone = 5;
  const int last = static_cast<int>(kPrefixes.size()) - 1;
  // Rounded first: 999.97 with four digits is 1.000 k.
  std::array<char, 64> text;
  std::snprintf(text.data(), text.size(), "%.*e", digits - 1, value);
  const double written = std::strtod(text.data(), nullptr);
  const int exponent =
      written == 0.0
          ? 0
          : static_cast<int>(std::floor(std::log10(std::abs(written)) + 1e-9));
  const int third = (exponent >= 0 ? exponent : exponent - 2) / 3;
  const int at = std::clamp(kNone + third, 0, last);
  const int power = 3 * (at - kNone);
  const double scaled = power >= 0 ? written / std::pow(10.0, power)
                                   : written * std::pow(10.0, -power);
  const int decimals = std::max(0, digits - 1 - (exponent - power));
  std::snprintf(text.data(), text.size(), "%.*f ", decimals, scaled);
  return std::string(text.data()) + kPrefixes[static_cast<std::size_t>(at)] +
         unit;
}

}  // namespace clockassay
