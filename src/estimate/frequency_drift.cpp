// SPDX-License-Identifier: GPL-3.0-or-later
#include "estimate/frequency_drift.h"

#include <algorithm>
#include <cmath>
#include <cstdint>
#include <vector>

namespace clockassay {
namespace {

/// What goes up and down about as often as there are parts looks like a line in
/// those, and in no other number of them. Chosen.
constexpr int kOtherParts = 25;

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

struct FrequencyLine {
  double a_part = 0.0;     ///< relative change from one part to the next
  double explained = 0.0;  ///< of the variance
};

std::optional<FrequencyLine> line_through(const PhaseSource& phases,
                                          double period_ticks, int parts) {
  const std::int64_t averaged = drift_mean_of(phases.count);
  const std::int64_t span = phases.count - averaged;
  std::vector<double> room(static_cast<std::size_t>(averaged));
  std::vector<double> mean;
  for (int i = 0; i <= parts; ++i) {
    mean.push_back(mean_from(phases, span * i / parts, room));
    if (std::isnan(mean.back())) return std::nullopt;
  }
  const double part = static_cast<double>(span) / parts * period_ticks;
  const double about = (mean.back() - mean.front()) / parts;
  double squares = 0.0, products = 0.0, weights = 0.0;
  for (std::size_t i = 1; i < mean.size(); ++i) {
    const double place = static_cast<double>(i) - 0.5 * (parts + 1);
    // Edges that come later are of a lower frequency.
    const double frequency = -(mean[i] - mean[i - 1] - about) / part;
    squares += frequency * frequency;
    products += place * frequency;
    weights += place * place;
  }
  if (squares <= 0.0) return FrequencyLine{};
  return FrequencyLine{products / weights,
                       products * products / (weights * squares)};
}

}  // namespace

std::int64_t drift_mean_of(std::int64_t cycles) {
  return std::min(kMostDriftPhases, cycles / (kDriftParts + 1));
}

std::optional<FrequencyDrift> frequency_drift(const PhaseSource& phases,
                                              double period_ticks) {
  constexpr std::int64_t kFewest = 4;
  if (drift_mean_of(phases.count) < kFewest) return std::nullopt;
  const auto line = line_through(phases, period_ticks, kDriftParts);
  const auto other = line_through(phases, period_ticks, kOtherParts);
  if (!line || !other) return std::nullopt;
  FrequencyDrift drift;
  drift.change = line->a_part * parts_of_whole(phases.count);
  drift.explained = std::min(line->explained, other->explained);
  return drift;
}

double drift_error_bound(double error, std::int64_t cycles, double period) {
  constexpr double kWeights = 340.0;  // sum of (i - 7.5)^2
  const double parts = parts_of_whole(cycles);
  const double part = static_cast<double>(cycles) / parts * period;
  return 2.0 * (kDriftParts - 1) / kWeights * parts * error / part;
}

}  // namespace clockassay
