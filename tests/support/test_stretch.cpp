// SPDX-License-Identifier: GPL-3.0-or-later
#include "support/test_stretch.h"

#include <algorithm>
#include <cmath>

namespace clockassay {

TestStretch stretch_from_edges(std::span<const std::int64_t> rises,
                               std::span<const std::int64_t> falls,
                               std::size_t block_cycles) {
  TestStretch out;
  out.arena = std::make_unique<Arena>();
  CycleEncoder encoder(*out.arena);
  Stretch& s = out.stretch;
  std::size_t begin = 0, gathered = 0;
  const auto flush = [&] {
    const CycleBlock block = encoder.flush();
    s.blocks.push_back(
        {Cycles(static_cast<std::int64_t>(begin)), block.first, block});
    begin += gathered;
    gathered = 0;
  };
  for (std::size_t i = 0; i + 1 < rises.size(); ++i) {
    encoder.add(Ticks(rises[i]), Ticks(falls[i]), Ticks(rises[i + 1]));
    if (++gathered == block_cycles) flush();
  }
  if (gathered > 0) flush();
  ExplicitEdges last;
  last.rise.push_back({static_cast<std::int64_t>(rises.size()) - 1, 0});
  s.blocks.push_back({Cycles(0), Ticks(rises.back()), last});
  s.rising = static_cast<std::int64_t>(rises.size());
  s.falling = s.rising - 1;
  s.first = Ticks(rises.front());
  s.last = Ticks(rises.back());
  return out;
}

SampledEdges sample_edges(double period, double duty, double sigma,
                          std::size_t cycles, std::mt19937_64& random,
                          std::span<const double> wander) {
  std::uniform_real_distribution<double> uniform(0.0, 1.0);
  std::normal_distribution<double> normal(0.0, 1.0);
  const double phase = uniform(random) * period;
  SampledEdges edges;
  edges.phase = phase;
  std::int64_t previous = -1;
  const auto sample = [&](double t) {
    const double noisy = sigma > 0.0 ? t + sigma * normal(random) : t;
    const auto n = static_cast<std::int64_t>(std::ceil(noisy));
    previous = std::max(previous + 1, n);
    return previous;
  };
  for (std::size_t k = 0; k <= cycles; ++k) {
    const double rise = phase + static_cast<double>(k) * period;
    const auto moved = [&](std::size_t i) {
      return wander.empty() ? 0.0 : wander[i];
    };
    edges.rises.push_back(sample(rise + moved(2 * k)));
    edges.falls.push_back(sample(rise + duty * period + moved(2 * k + 1)));
  }
  return edges;
}

}  // namespace clockassay
