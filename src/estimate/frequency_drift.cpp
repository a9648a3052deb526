// SPDX-License-Identifier: GPL-3.0-or-later
#include "estimate/frequency_drift.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <cstdint>
#include <vector>

namespace clockassay {
namespace {

/// NaN where none is known.
double mean_from(const PhaseSource& phases, std::int64_t at,
                 std::vector<double>& room) {
  phases.read(at, room);
  double sum = 0.0;
  std::int64_t n = 0;
  for (const double x : room) {
    if (std::isnan(x)) continue;
    sum += x;
    ++n;
  }
  return sum / static_cast<double>(n);
}

/// From the middle of the first mean to that of the last are kDriftParts.
double parts_of_whole(std::int64_t cycles) {
  return kDriftParts * static_cast<double>(cycles) /
         static_cast<double>(cycles - drift_mean_of(cycles));
}

}  // namespace

std::int64_t drift_mean_of(std::int64_t cycles) {
  return std::min(kMostDriftPhases, cycles / (kDriftParts + 1));
}

std::optional<FrequencyDrift> frequency_drift(const PhaseSource& phases,
                                              double period_ticks) {
  constexpr std::int64_t kFewest = 4;
  const std::int64_t averaged = drift_mean_of(phases.count);
  if (averaged < kFewest) return std::nullopt;
  const std::int64_t span = phases.count - averaged;
  std::vector<double> room(static_cast<std::size_t>(averaged));
  std::array<double, kDriftParts + 1> mean{};
  for (int i = 0; i <= kDriftParts; ++i) {
    mean[static_cast<std::size_t>(i)] =
        mean_from(phases, span * i / kDriftParts, room);
    if (std::isnan(mean[static_cast<std::size_t>(i)])) return std::nullopt;
  }
  const double part = static_cast<double>(span) / kDriftParts * period_ticks;
  const double about = (mean.back() - mean.front()) / kDriftParts;
  double squares = 0.0, products = 0.0, weights = 0.0;
  for (std::size_t i = 0; i < kDriftParts; ++i) {
    const double place = static_cast<double>(i) - 0.5 * (kDriftParts - 1);
    // Edges that come later are of a lower frequency.
    const double frequency = -(mean[i + 1] - mean[i] - about) / part;
    squares += frequency * frequency;
    products += place * frequency;
    weights += place * place;
  }
  FrequencyDrift drift;
  drift.change = products / weights * parts_of_whole(phases.count);
  drift.explained =
      squares > 0.0 ? products * products / (weights * squares) : 0.0;
  return drift;
}

double drift_error_bound(double error, std::int64_t cycles, double period) {
  constexpr double kWeights = 340.0;  // sum of (i - 7.5)^2
  const double parts = parts_of_whole(cycles);
  const double part = static_cast<double>(cycles) / parts * period;
  return 2.0 * (kDriftParts - 1) / kWeights * parts * error / part;
}

}  // namespace clockassay
