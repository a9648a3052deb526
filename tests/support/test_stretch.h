// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <cstdint>
#include <memory>
#include <random>
#include <span>
#include <vector>

#include "clockassay/capture/arena.h"
#include "clockassay/edges/edge_store.h"

namespace clockassay {

/// A stretch with the memory its blocks point into.
struct TestStretch {
  std::unique_ptr<Arena> arena;
  Stretch stretch;
};

/// A stretch of whole cycles given by their rising and falling edges [ticks],
/// equal lengths, in blocks of the given most cycles. The last cycle's rising
/// edge ends the one before; its falling edge is left out.
TestStretch stretch_from_edges(std::span<const std::int64_t> rises,
                               std::span<const std::int64_t> falls,
                               std::size_t block_cycles);

/// Edges n = ceil(phase + k * period + noise), in samples, as an ideal sampler
/// sees them, both polarities with their own noise.
struct SampledEdges {
  std::vector<std::int64_t> rises;
  std::vector<std::int64_t> falls;
  double phase = 0.0;  ///< of the first rising edge, without noise
};
/// `wander`, if given, moves edge after edge, rising and falling in turn.
SampledEdges sample_edges(double period, double duty, double sigma,
                          std::size_t cycles, std::mt19937_64& random,
                          std::span<const double> wander = {});

}  // namespace clockassay
