// SPDX-License-Identifier: GPL-3.0-or-later
#include "clockassay/estimate/repair_spacing.h"

#include <algorithm>
#include <boost/math/distributions/binomial.hpp>
#include <cmath>
#include <cstddef>

#include "base/median.h"

namespace clockassay {
namespace {

using Distances = std::vector<std::int64_t>;

constexpr double kOnceIn = 1e-3;

// Cycles from one place to the next: between losses those that are there.
Distances distances_of(RepairKind kind, const std::vector<Repair>& repairs,
                       double period) {
  Distances distances;
  std::optional<Ticks> place;
  for (const Repair& r : repairs) {
    if (r.kind != kind) continue;
    if (place) {
      const double cycles =
          static_cast<double>((r.time - *place).count()) / period;
      // Both edges of a pulse are one place.
      if (kind == RepairKind::kExtraEdge && cycles < 1.0) continue;
      const std::int64_t lost = kind == RepairKind::kMissingCycle ? r.count : 0;
      distances.push_back(std::max<std::int64_t>(
          1, static_cast<std::int64_t>(std::round(cycles)) - lost));
    }
    place = r.time;
  }
  return distances;
}

double mean_of(const Distances& distances) {
  double sum = 0.0;
  for (const std::int64_t d : distances) sum += static_cast<double>(d);
  return sum / static_cast<double>(distances.size());
}

// Whether so many are one of two neighbouring numbers that chance would seldom
// do so: the first is free, and any of them may be it.
bool are_alike(Distances distances) {
  const auto count = static_cast<double>(distances.size());
  const double ends = 1.0 / mean_of(distances);  // chance that a cycle is next
  if (ends >= 1.0) return false;
  std::sort(distances.begin(), distances.end());
  auto last = distances.begin();
  for (auto first = distances.begin(); first != distances.end(); ++first) {
    if (first != distances.begin() && *first == *(first - 1)) continue;
    while (last != distances.end() && *last <= *first + 1) ++last;
    const auto alike = static_cast<double>(last - first);
    if (alike < 2.0) continue;
    const double chance =
        std::pow(1.0 - ends, *first - 1) * (1.0 - (1.0 - ends) * (1.0 - ends));
    const double mean = (count - 1.0) * chance;
    if (alike - 1.0 <= mean) continue;
    const boost::math::binomial others(count - 1.0, chance);
    if (count * cdf(complement(others, alike - 2.0)) < kOnceIn) return true;
  }
  return false;
}

// How far the logarithm of the mean is above the mean of the logarithms, which
// is nothing for equal distances; and what chance makes of that.
struct Unevenness {
  double mean;      // of one distance
  double variance;  // divide by their number
};

Unevenness unevenness_by_chance(double mean_distance) {
  constexpr int kPoints = 4096;  // of the distribution, equally probable
  const double log_stays = std::log1p(-1.0 / mean_distance);
  double sum = 0.0;
  double squares = 0.0;
  for (int i = 0; i < kPoints; ++i) {
    const double above = (i + 0.5) / kPoints;
    const double d = std::max(1.0, std::ceil(std::log(above) / log_stays));
    // What one distance adds, where the mean is not known but taken from all.
    const double adds = d / mean_distance - 1.0 - std::log(d / mean_distance);
    sum += adds;
    squares += adds * adds;
  }
  const double mean = sum / kPoints;
  return {mean, squares / kPoints - mean * mean};
}

bool are_even(const Distances& distances) {
  constexpr std::size_t kFewest = 8;  // chosen: normal from there on
  constexpr double kDeviations = 4.0;
  const auto count = static_cast<double>(distances.size());
  const double mean = mean_of(distances);
  if (distances.size() < kFewest || mean <= 1.0) return false;
  double unevenness = std::log(mean);
  for (const std::int64_t d : distances) {
    unevenness -= std::log(static_cast<double>(d)) / count;
  }
  const Unevenness by_chance = unevenness_by_chance(mean);
  // A mean taken from the distances themselves is nearer to them.
  const double expected = by_chance.mean - (1.0 - 1.0 / mean) / (2.0 * count);
  return unevenness <
         expected - kDeviations * std::sqrt(by_chance.variance / count);
}

std::optional<RegularRepairs> regular_of(RepairKind kind,
                                         const std::vector<Repair>& repairs,
                                         double period) {
  const Distances distances = distances_of(kind, repairs, period);
  if (distances.size() < 2) return std::nullopt;
  if (!are_alike(distances) && !are_even(distances)) return std::nullopt;
  RegularRepairs found;
  found.kind = kind;
  found.places = static_cast<std::int64_t>(distances.size()) + 1;
  const std::int64_t middle = median(distances);
  found.at_spacing =
      std::count_if(distances.begin(), distances.end(),
                    [&](std::int64_t d) { return std::abs(d - middle) <= 1; });
  found.spacing = middle;
  return found;
}

}  // namespace

std::optional<RegularRepairs> find_regular_repairs(
    const std::vector<Repair>& repairs, double period_ticks) {
  const auto missing =
      regular_of(RepairKind::kMissingCycle, repairs, period_ticks);
  const auto extra = regular_of(RepairKind::kExtraEdge, repairs, period_ticks);
  if (missing && extra)
    return missing->places >= extra->places ? missing : extra;
  return missing ? missing : extra;
}

}  // namespace clockassay
