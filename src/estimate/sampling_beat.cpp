// SPDX-License-Identifier: GPL-3.0-or-later
#include "estimate/sampling_beat.h"

#include <algorithm>
#include <cmath>

namespace clockassay {

double sampling_beat(double period, double n, double jitter) {
  // Chosen: phases closer together than that make 1/12/64² at most.
  constexpr int kHarmonics = 64;
  constexpr double kPi2 = 9.869604401089358;
  const double step = period - std::floor(period);
  double sum = 1.0 / (12.0 * kHarmonics * kHarmonics);
  for (int m = 1; m <= kHarmonics; ++m) {
    const double left =
        std::exp(-4.0 * kPi2 * jitter * jitter * m * m) / (2.0 * kPi2 * m * m);
    if (left < 1e-9) break;
    const double turns = m * step;
    const double off = std::abs(turns - std::nearbyint(turns));
    const double mean = std::min(1.0, 0.5 / (n * std::max(off, 1e-300)));
    sum += left * mean * mean;
  }
  return sum;
}

}  // namespace clockassay
