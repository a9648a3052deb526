// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <cstddef>
#include <cstdint>
#include <random>
#include <span>
#include <vector>

#include "support/test_stretch.h"

namespace clockassay {

/// Where a glitch, a short pulse of the other level, may begin.
enum class GlitchPlace {
  kAnywhere,    ///< in a high or a low time, a sample clear of both its edges
  kHigh,        ///< the same, in high times only
  kLow,         ///< the same, in low times only
  kBesideEdge,  ///< a sample after an edge
  kOverEdges    ///< anywhere at all: one that touches an edge moves it
};

/// What is done to the level changes of a clock. Shares are of cycles.
struct EdgeFaults {
  double lost_pulses = 0.0;  ///< a high pulse, both its edges
  double lost_edges = 0.0;   ///< each edge by itself; the level stays on
  double glitches = 0.0;     ///< 1 to 3 samples long
  double runts = 0.0;        ///< the high time has a gap, a third of it
  std::size_t drops = 0;     ///< that many pulses at random cycles
  std::size_t spikes = 0;    ///< that many glitches at random cycles
  std::size_t bursts = 0;    ///< that many times ten pulses in a row lost
  std::size_t at_ends = 0;   ///< pulses lost and glitches among the first
                             ///< and the last five cycles
  GlitchPlace place = GlitchPlace::kAnywhere;
};

/// The level changes a capture shows of a clock that was damaged, and what of
/// the clock they no longer show.
struct DamagedClock {
  std::vector<std::int64_t> changes;  ///< increasing; low before the first
  std::int64_t lost_cycles = 0;       ///< rising edges gone, between those seen
  std::int64_t extra_edges = 0;       ///< changes that are no edge of the clock
};

/// Damages the clock's edges. Changes that fall together cancel.
DamagedClock damage_edges(const SampledEdges& clock, const EdgeFaults& faults,
                          std::mt19937_64& random);

}  // namespace clockassay
