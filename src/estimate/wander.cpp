// SPDX-License-Identifier: GPL-3.0-or-later
#include "clockassay/estimate/wander.h"

#include <algorithm>
#include <cmath>

#include "clockassay/estimate/edge_line.h"
#include "clockassay/estimate/student_t.h"

namespace clockassay {

std::optional<double> find_wander(std::span<const LineSums> parts, double slope,
                                  double window) {
  constexpr double kSamplingBound = 1.5;    // worst case of least squares, / n
  constexpr double kCoverage = 1.0 - 1e-6;  // chosen: one false alarm in 1e6
  double largest = 0.0;
  bool found = false;
  // Windows of 4, 8, … parts, up to half of all, each half over the next: the
  // short ones show quick changes, the long ones slight ones.
  for (std::size_t length = 4; 2 * length <= parts.size() || length == 4;
       length *= 2) {
    for (std::size_t first = 0; first + length <= parts.size();
         first += length / 2) {
      LineSums sums;
      for (std::size_t i = first; i < first + length; ++i) {
        sums.add_shifted(parts[i], 0, 0);
      }
      const auto fit = fit_line(sums, LineSums{});
      if (!fit || fit->dof < 1) continue;
      const double off = std::abs(fit->slope - slope);
      const double sampling =
          kSamplingBound * window / static_cast<double>(sums.n);
      if (off <= sampling) continue;  // whatever scatter adds
      const auto dof = static_cast<double>(fit->dof);
      const double variance = fit->residual_squares / dof;
      const double explained =
          sampling + student_t_two_sided(kCoverage, dof) *
                         std::sqrt(variance * fit->slope_variance);
      if (off <= explained) continue;
      largest = std::max(largest, off);
      found = true;
    }
  }
  if (!found) return std::nullopt;
  return largest;
}

}  // namespace clockassay
