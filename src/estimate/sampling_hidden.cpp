// SPDX-License-Identifier: GPL-3.0-or-later
#include "estimate/sampling_hidden.h"

#include <algorithm>
#include <cmath>
#include <numbers>

namespace clockassay {
namespace {

constexpr double kPi = std::numbers::pi;
/// Chosen: what is left beyond is 1/8000 of a sampling interval.
constexpr int kMostHarmonics = 4096;

/// Of a sinusoid of `turns` a cycle, which may be off by `off`, the mean of so
/// many values is no more.
double mean_of_sinusoid(double turns, double off, double cycles) {
  const double part = turns - std::floor(turns);
  const double slowest = std::min(part, 1.0 - part) - off;
  if (slowest <= 0.0) return 1.0;
  return std::min(1.0, 1.0 / (cycles * std::sin(kPi * slowest)));
}

}  // namespace

double mean_error_bound(const SamplerSweep& sweep, std::int64_t cycles) {
  const double a_period = sweep.samples - std::floor(sweep.samples);
  const auto m = static_cast<double>(cycles);
  double bound = 0.5;
  double harmonics = 0.0, means = 0.0, weighted = 0.0;
  for (int h = 1; h <= kMostHarmonics; ++h) {
    const double mean =
        mean_of_sinusoid(h * a_period, h * sweep.uncertainty, m);
    harmonics += mean / (kPi * h);
    means += mean;
    weighted += h * mean;
    const double terms = h + 1.0;
    bound =
        std::min(bound, harmonics + (1.0 + 2.0 * (means - weighted / terms)) /
                                        (2.0 * terms));
  }
  return bound;
}

}  // namespace clockassay
