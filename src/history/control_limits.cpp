// SPDX-License-Identifier: GPL-3.0-or-later
#include "clockassay/history/control_limits.h"

#include <cmath>
#include <cstddef>
#include <numbers>

namespace clockassay {

std::optional<ControlLimits> control_limits(std::span<const double> values) {
  if (values.size() < 3) return std::nullopt;
  const auto n = static_cast<double>(values.size());
  ControlLimits limits;
  // About the first value, so that the mean of equal ones is that value.
  double about_first = 0.0;
  for (const double v : values) about_first += v - values.front();
  limits.centre = values.front() + about_first / n;
  double ranges = 0.0;
  for (std::size_t i = 1; i < values.size(); ++i) {
    ranges += std::abs(values[i] - values[i - 1]);
  }
  // The mean range of two normal values is 2/sqrt(pi) of their deviation.
  constexpr double kD2 = 2.0 * std::numbers::inv_sqrtpi;
  constexpr double kSigmas = 3.0;
  limits.sigma = ranges / (n - 1.0) / kD2;
  limits.low = limits.centre - kSigmas * limits.sigma;
  limits.high = limits.centre + kSigmas * limits.sigma;
  return limits;
}

}  // namespace clockassay
