// SPDX-License-Identifier: GPL-3.0-or-later
#include "clockassay/base/number_text.h"

#include <charconv>
#include <cmath>

namespace clockassay {

std::string number_text(double value, int digits) {
  char buffer[64];
  const auto end = std::to_chars(buffer, buffer + sizeof buffer, value,
                                 std::chars_format::general, digits);
  return std::string(buffer, end.ptr);
}

double shown_limit(double limit, LimitSide side) {
  constexpr int kStatedDigits = 9;
  constexpr int kShownDigits = 6;
  // Some last places of a double, by which an exact fraction may be off it.
  constexpr double kRounding = 1e-15;
  if (limit == 0.0 || !std::isfinite(limit)) return limit;
  const double size = std::abs(limit);
  const int exponent = static_cast<int>(std::floor(std::log10(size)));
  const std::string stated = number_text(limit, kStatedDigits);
  double read = 0.0;
  std::from_chars(stated.data(), stated.data() + stated.size(), read);
  if (std::abs(read - limit) <= kRounding * size) return limit;
  const double unit = std::pow(10.0, kShownDigits - 1 - exponent);
  const double scaled = limit * unit;
  return (side == LimitSide::kHigh ? std::floor(scaled) : std::ceil(scaled)) /
         unit;
}

}  // namespace clockassay
