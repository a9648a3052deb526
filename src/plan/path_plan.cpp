// SPDX-License-Identifier: GPL-3.0-or-later
#include "clockassay/plan/path_plan.h"

#include <algorithm>
#include <cmath>
#include <numeric>

namespace clockassay {
namespace {

constexpr double kPpm = 1e6;

/// (a - b)/b in ppm, exact up to the last division.
double apart(const Rational& a, const Rational& b) {
  const auto ratio = divide(a, b);
  if (!ratio) return (a.to_double() / b.to_double() - 1.0) * kPpm;
  const auto difference = subtract(*ratio, Rational(1));
  return difference ? difference->to_double() * kPpm
                    : (ratio->to_double() - 1.0) * kPpm;
}

/// Whether what is seen of two frequencies may be the same.
bool alike(const Rational& a, const Rational& b, const PathSource& source) {
  const double fa = a.to_double();
  const double fb = b.to_double();
  const double difference = std::abs(apart(a, b)) * fb;
  // Of the slower one up, of the faster one down.
  const double up = source.high_ppm + source.timebase_ppm;
  const double down = source.timebase_ppm - source.low_ppm;
  return difference <= up * std::min(fa, fb) + down * std::max(fa, fb);
}

void sort_by_nearness(std::vector<PathSlip>& slips) {
  std::stable_sort(
      slips.begin(), slips.end(), [](const PathSlip& a, const PathSlip& b) {
        return std::abs(a.difference_ppm) < std::abs(b.difference_ppm);
      });
}

void find_coincidences(PathPlan& plan) {
  std::vector<std::size_t> order(plan.slips.size());
  std::iota(order.begin(), order.end(), std::size_t{0});
  const auto frequency = [&plan](std::size_t i) -> const Rational& {
    return plan.slips[i].neighbour.frequency_hz;
  };
  std::stable_sort(order.begin(), order.end(),
                   [&](std::size_t a, std::size_t b) {
                     return frequency(a) < frequency(b);
                   });
  for (std::size_t k = 1; k < order.size(); ++k) {
    const std::size_t a = order[k - 1];
    const std::size_t b = order[k];
    if (!alike(frequency(b), frequency(a), plan.source)) continue;
    plan.coincidences.push_back(
        {std::min(a, b), std::max(a, b), apart(frequency(b), frequency(a))});
  }
}

}  // namespace

Result<PathPlan> plan_path(std::string_view expression,
                           const PathSource& source) {
  PathPlan plan;
  plan.source = source;
  plan.widest_ppm =
      std::max(std::abs(source.low_ppm), std::abs(source.high_ppm));
  auto path = parse_clock_path(expression);
  if (!path) return tl::unexpected(path.error());
  plan.path = *std::move(path);
  auto neighbours = path_neighbours(plan.path);
  if (!neighbours) return tl::unexpected(neighbours.error());
  const Rational& intended = plan.path.frequency_hz;
  for (PathNeighbour& neighbour : *neighbours) {
    PathSlip slip;
    slip.difference_ppm = apart(neighbour.frequency_hz, intended);
    slip.like_intended = alike(neighbour.frequency_hz, intended, source);
    slip.neighbour = std::move(neighbour);
    plan.slips.push_back(std::move(slip));
  }
  sort_by_nearness(plan.slips);
  find_coincidences(plan);
  return plan;
}

}  // namespace clockassay
