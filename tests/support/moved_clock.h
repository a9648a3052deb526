// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <cstddef>
#include <functional>
#include <vector>

namespace clockassay {

/// A change of frequency for good, at a fraction of the capture.
struct FrequencyJump {
  double at;
  double ppm;
};

/// How far the edges of a clock, rising and falling in turn, are moved when its
/// frequency is off by ppm(u) at fraction u of `cycles` cycles: what
/// sample_edges takes. To first order in ppm, in the unit of `period`.
inline std::vector<double> moved_edges(
    double period, std::size_t cycles,
    const std::function<double(double)>& ppm) {
  std::vector<double> moved(2 * cycles + 2);
  double at = 0.0;
  for (std::size_t i = 0; i < moved.size(); ++i) {
    moved[i] = at;
    const double u = static_cast<double>(i) / static_cast<double>(2 * cycles);
    at -= 0.5 * period * 1e-6 * ppm(u);
  }
  return moved;
}

/// The sum of the jumps up to u.
inline double ppm_after(const std::vector<FrequencyJump>& jumps, double u) {
  double ppm = 0.0;
  for (const FrequencyJump& j : jumps) {
    if (u >= j.at) ppm += j.ppm;
  }
  return ppm;
}

}  // namespace clockassay
