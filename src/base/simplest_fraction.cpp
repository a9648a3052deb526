// SPDX-License-Identifier: GPL-3.0-or-later
#include "clockassay/base/simplest_fraction.h"

#include <cmath>
#include <cstdint>
#include <vector>

namespace clockassay {

std::optional<Rational> simplest_fraction(double low, double high) {
  // A double has no more quotients than bits to tell them.
  constexpr std::size_t kMostQuotients = 64;
  constexpr double kLargest = 1e15;  // held exactly
  if (!(low > 0.0) || !(high >= low) || !std::isfinite(high)) {
    return std::nullopt;
  }
  std::vector<std::int64_t> quotients;
  while (quotients.size() < kMostQuotients) {
    const double whole = std::floor(low);
    if (whole > kLargest) return std::nullopt;
    const bool is_here = whole == low || whole + 1.0 <= high;
    quotients.push_back(static_cast<std::int64_t>(whole == low ? whole
                                                  : is_here    ? whole + 1.0
                                                               : whole));
    if (is_here) break;
    // Both lie between whole and the next: go on with what is left, upside
    // down.
    const double rest = low - whole;
    low = 1.0 / (high - whole);
    high = 1.0 / rest;
  }
  std::optional<Rational> value = Rational(quotients.back());
  for (auto q = quotients.rbegin() + 1; value && q != quotients.rend(); ++q) {
    const auto turned = divide(Rational(1), *value);
    value = turned ? add(Rational(*q), *turned) : std::nullopt;
  }
  return value;
}

}  // namespace clockassay
