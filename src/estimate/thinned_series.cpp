// SPDX-License-Identifier: GPL-3.0-or-later
#include "estimate/thinned_series.h"

#include <algorithm>
#include <cassert>
#include <cmath>
#include <limits>

namespace clockassay {
namespace {

/// Length of a mean in steps from one to the next.
constexpr std::int64_t kSteps = 8;
/// Values read at once. Chosen: a few MB.
constexpr std::int64_t kValuesAtOnce = std::int64_t{1} << 18;
constexpr double kMayLack = 1.0 / 64.0;  // as segments may

double weighted_mean(const double* x, const SpectralWindow& window) {
  double sum = 0.0, weight = 0.0;
  for (std::size_t i = 0; i < window.size(); ++i) {
    if (std::isnan(x[i])) continue;
    sum += window.values()[i] * x[i];
    weight += window.values()[i];
  }
  return weight >= (1.0 - kMayLack) * window.sum()
             ? sum / weight
             : std::numeric_limits<double>::quiet_NaN();
}

}  // namespace

ThinnedSeries::ThinnedSeries(const SeriesReader& read, std::int64_t count,
                             std::int64_t factor,
                             const ParallelFor& parallel_for)
    : factor_(factor), window_(static_cast<std::size_t>(kSteps * factor)) {
  assert(factor >= 2 && count >= kSteps * factor);
  const std::int64_t means = (count - kSteps * factor) / factor + 1;
  const std::int64_t at_once =
      std::max<std::int64_t>(1, kValuesAtOnce / factor);
  values_.resize(static_cast<std::size_t>(means));
  const auto parts = static_cast<std::size_t>((means + at_once - 1) / at_once);
  parallel_for(parts, [&](std::size_t part) {
    const std::int64_t first = static_cast<std::int64_t>(part) * at_once;
    const std::int64_t n = std::min(at_once, means - first);
    std::vector<double> x(static_cast<std::size_t>((n - 1 + kSteps) * factor));
    read(first * factor, x);
    for (std::int64_t j = 0; j < n; ++j) {
      values_[static_cast<std::size_t>(first + j)] =
          weighted_mean(x.data() + j * factor, window_);
    }
  });
}

double ThinnedSeries::power_response(double frequency) const {
  const double response =
      window_.response(frequency * static_cast<double>(window_.size()));
  return response * response;
}

}  // namespace clockassay
