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
  double sy = 0, skk = 0, sky = 0, syy = 0;
  for (std::size_t i = 0; i < n; ++i) {
    const double k = static_cast<double>(i) - 0.5 * static_cast<double>(n - 1);
    sy += x[i];
    skk += k * k;
    sky += k * x[i];
    syy += x[i] * x[i];
  }
  const auto count = static_cast<double>(n);
  const double rest = (syy - sy * sy / count - sky * sky / skk) / count;
  for (double& v : x) v *= rms / std::sqrt(rest);
  return x;
}

std::vector<double> discrete_power_law_noise(int alpha, std::size_t n,
                                             std::mt19937_64& random) {
  // As many are thrown away: of the second differences over m of flickering
  // frequency, the past that is missing has m^2/(22 n^2) of the variance, of
  // whiter noise less, of a walking frequency none (sums of the squared
  // differences of the weights below).
  std::normal_distribution<double> normal;
  std::vector<double> white(2 * n);
  for (double& v : white) v = normal(random);
  std::vector<double> x(n);
  const double order = 0.5 * (2 - alpha);
  double weight = 1.0;
  for (std::size_t j = 0; j < white.size() && weight != 0.0; ++j) {
    // Of x[i], at n + i of the white ones, where j lies before that.
    for (std::size_t i = j > n ? j - n : 0; i < n; ++i) {
      x[i] += weight * white[n + i - j];
    }
    const auto next = static_cast<double>(j + 1);
    weight *= (next - 1.0 + order) / next;
  }
  return x;
}

}  // namespace clockassay
