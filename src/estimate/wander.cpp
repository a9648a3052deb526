// SPDX-License-Identifier: GPL-3.0-or-later
#include "clockassay/estimate/wander.h"

#include <algorithm>
#include <cmath>

#include "clockassay/estimate/edge_line.h"

namespace clockassay {

std::optional<double> find_wander(std::span<const LineSums> parts, double slope,
                                  double window) {
  constexpr double kSamplingBound =
      1.5;                         // worst case of least squares, times n
  constexpr double kSigmas = 5.0;  // chosen: one false alarm in 1e6
  double largest = 0.0;
  bool found = false;
  for (const LineSums& part : parts) {
    if (part.n < static_cast<std::int64_t>(kWanderPartEdges)) continue;
    const auto fit = fit_line(part, LineSums{});
    if (!fit) continue;
    const auto n = static_cast<double>(part.n);
    const double variance = fit->residual_squares / (n - 2.0);
    const double explained =
        kSamplingBound * window / n +
        kSigmas * std::sqrt(variance * fit->slope_variance);
    const double off = std::abs(fit->slope - slope);
    largest = std::max(largest, off);
    found = found || off > explained;
  }
  if (!found) return std::nullopt;
  return largest;
}

}  // namespace clockassay
