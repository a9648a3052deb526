// SPDX-License-Identifier: GPL-3.0-or-later
#include "support/power_law_noise.h"

#include <cmath>

namespace clockassay {

std::vector<double> power_law_noise(PowerLaw kind, std::size_t n, double rms,
                                    std::mt19937_64& random) {
  std::normal_distribution<double> normal;
  std::vector<double> x(n);
  const bool flicker =
      kind == PowerLaw::kFlickerPhase || kind == PowerLaw::kFlickerFrequency;
  if (flicker) {
    for (double length = 1.0; length < 4.0 * static_cast<double>(n);
         length *= 2.0) {
      const double keep = std::exp(-1.0 / length),
                   kick = std::sqrt(1.0 - keep * keep);
      double state = normal(random);
      for (double& v : x) {
        v += state;
        state = keep * state + kick * normal(random);
      }
    }
  } else {
    for (double& v : x) v = normal(random);
  }
  const auto accumulate = [&] {
    double sum = 0.0;
    for (double& v : x) v = sum += v;
  };
  if (kind != PowerLaw::kFlickerPhase) accumulate();
  if (kind == PowerLaw::kWalkFrequency) accumulate();
  double sy = 0, sk = 0, skk = 0, sky = 0, syy = 0;
  for (std::size_t i = 0; i < n; ++i) {
    const double k = static_cast<double>(i) - 0.5 * static_cast<double>(n - 1);
    sy += x[i];
    sk += k;
    skk += k * k;
    sky += k * x[i];
    syy += x[i] * x[i];
  }
  const auto count = static_cast<double>(n);
  const double rest = (syy - sy * sy / count - sky * sky / skk) / count;
  for (double& v : x) v *= rms / std::sqrt(rest);
  return x;
}

}  // namespace clockassay
