// SPDX-License-Identifier: GPL-3.0-or-later
#include "clockassay/oscillator/preferred_values.h"

#include <cmath>

namespace clockassay {
namespace {

constexpr std::uint8_t kE12[] = {10, 12, 15, 18, 22, 27,
                                 33, 39, 47, 56, 68, 82};
constexpr std::uint8_t kE24[] = {10, 11, 12, 13, 15, 16, 18, 20,
                                 22, 24, 27, 30, 33, 36, 39, 43,
                                 47, 51, 56, 62, 68, 75, 82, 91};

}  // namespace

const char* e_series_name(ESeries series) {
  return series == ESeries::kE12 ? "E12" : "E24";
}

std::span<const std::uint8_t> e_series_decade(ESeries series) {
  if (series == ESeries::kE12) return kE12;
  return kE24;
}

std::vector<Farads> preferred_values(ESeries series, Farads low, Farads high) {
  // A value that is meant to be an end counts as inside it.
  constexpr double kRounding = 1e-9;
  std::vector<Farads> values;
  const double first = std::floor(std::log10(low.value()));
  const double last = std::floor(std::log10(high.value()) + kRounding);
  for (double decade = first; decade <= last; decade += 1.0) {
    for (const std::uint8_t tenths : e_series_decade(series)) {
      // One rounding, so that 22 pF here is 22 pF as written.
      const double value = tenths / std::pow(10.0, 1.0 - decade);
      if (value < low.value() * (1.0 - kRounding)) continue;
      if (value > high.value() * (1.0 + kRounding)) continue;
      values.push_back(Farads(value));
    }
  }
  return values;
}

}  // namespace clockassay
