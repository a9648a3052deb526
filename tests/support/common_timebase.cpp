// SPDX-License-Identifier: GPL-3.0-or-later
#include "support/common_timebase.h"

#include <algorithm>
#include <cmath>
#include <memory>
#include <numbers>
#include <vector>

namespace clockassay {
namespace {

std::function<double(double)> walk(double length, double size,
                                   std::mt19937_64& random) {
  constexpr std::size_t kSteps = 20'000;
  std::normal_distribution<double> normal;
  auto at = std::make_shared<std::vector<double>>(kSteps + 2, 0.0);
  // A walk of n steps ends sqrt(n) steps away.
  const double step = size / std::sqrt(static_cast<double>(kSteps));
  for (std::size_t i = 1; i < at->size(); ++i) {
    (*at)[i] = (*at)[i - 1] + step * normal(random);
  }
  return [at, length](double t) {
    const double place =
        std::clamp(t / length, 0.0, 1.0) * static_cast<double>(kSteps);
    const auto i = static_cast<std::size_t>(place);
    const double share = place - static_cast<double>(i);
    return (*at)[i] + share * ((*at)[i + 1] - (*at)[i]);
  };
}

std::function<double(double)> sine(double length, double size, double turns,
                                   double phase) {
  const double w = 2.0 * std::numbers::pi * turns / length;
  return [=](double t) { return size * std::sin(w * t + phase); };
}

}  // namespace

std::function<double(double)> time_error(TimebaseCourse course, double length,
                                         double size, std::mt19937_64& random) {
  std::uniform_real_distribution<double> uniform(0.0, 1.0);
  const double phase = 2.0 * std::numbers::pi * uniform(random);
  switch (course) {
    case TimebaseCourse::kSteady:
      break;
    case TimebaseCourse::kLinear:
      return [=](double t) { return size * (t / length) * (t / length); };
    case TimebaseCourse::kQuadratic:
      return [=](double t) { return size * std::pow(t / length, 3); };
    case TimebaseCourse::kSlowSine:
      return sine(length, size, 2.7, phase);
    case TimebaseCourse::kFastSine:
      return sine(length, size, 300.0, phase);
    case TimebaseCourse::kWalk:
      return walk(length, size, random);
  }
  return [](double) { return 0.0; };
}

SampledEdges see_clock(const SeenClock& clock, double length,
                       const std::function<double(double)>& error,
                       std::mt19937_64& random) {
  std::uniform_real_distribution<double> uniform(0.0, 1.0);
  std::normal_distribution<double> normal;
  SampledEdges edges;
  edges.phase = uniform(random) * clock.period;
  std::int64_t previous = -1;
  const auto sample = [&](double t) {
    const double jitter =
        clock.sigma > 0.0 ? clock.sigma * normal(random) : 0.0;
    const auto n = static_cast<std::int64_t>(std::ceil(t + error(t) + jitter));
    previous = std::max(previous + 1, n);
    return previous;
  };
  for (double t = edges.phase; t < length;
       t = edges.phase +
           clock.period * static_cast<double>(edges.rises.size())) {
    edges.rises.push_back(sample(t));
    edges.falls.push_back(sample(t + clock.duty * clock.period));
  }
  return edges;
}

}  // namespace clockassay
