// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <array>
#include <cstddef>
#include <cstdint>
#include <span>
#include <vector>

#include "clockassay/base/units.h"
#include "clockassay/capture/arena.h"
#include "clockassay/capture/offset_sums.h"

namespace clockassay {

/// Most cycles one block holds. Chosen: its scratch arrays stay in L1.
inline constexpr std::size_t kMaxBlockCycles = 2048;

/// In how many parts a tick is cut where a block's mean period is no whole one.
inline constexpr int kCycleFractionBits = 20;

/// Exact sums over a block's edges beside its base period: cycle c rises at
/// first + c * base_period + y[c] and falls base_high + z[c] - y[c] later.
struct CycleSums {
  OffsetSums rise;  ///< of y
  OffsetSums fall;  ///< of z
  StepSums steps;   ///< of y
};

/// Up to kMaxBlockCycles consecutive cycles of one channel, about a byte an
/// edge: what is left of the rising edges beside a line from the first to the
/// end, and of the high times beside a middle one. Cycle c rises at r[c], falls
/// at f[c], and ends where the next rises:
///   r[c] = first + c * base_period + floor(c * fraction / 2^20)
///          + base_rise + dR[c]
///   f[c] = r[c] + base_high + dH[c]
/// so every edge is found without those before it. The end r[count] is the
/// rising edge that follows in the stream; it is not one of the block's edges.
/// Invariant: 0 < high < period for every cycle.
struct CycleBlock {
  Ticks first;
  std::int64_t base_period = 0;
  std::int64_t base_rise = 0;
  std::int64_t base_high = 0;
  std::int64_t period_min = 0;
  std::int64_t period_max = 0;
  std::int64_t high_min = 0;
  std::int64_t high_max = 0;
  std::int64_t low_min = 0;  ///< of what is left of a period
  std::int64_t low_max = 0;
  Ticks end;                           ///< r[count]
  std::uint32_t fraction = 0;          ///< of a tick, in 2^-20
  std::uint32_t count = 0;             ///< cycles, at least 1
  std::uint8_t width = 1;              ///< bytes per offset: 1, 2, 4 or 8
  const std::byte* offsets = nullptr;  ///< dR[count] then dH[count]
  bool has_sums = false;  ///< where y and z are below kNarrowResidual
  CycleSums sums;
};

/// The edges of one block, as offsets from `first` [ticks].
struct DecodedCycles {
  Ticks first;
  std::size_t count = 0;
  std::array<std::int64_t, kMaxBlockCycles> rise;
  std::array<std::int64_t, kMaxBlockCycles> fall;
};

/// Packs cycles given by their edges [ticks]: one rising edge more than falling
/// ones, which lie between; 1 … kMaxBlockCycles cycles.
CycleBlock encode_cycles(std::span<const std::int64_t> rises,
                         std::span<const std::int64_t> falls, Arena& arena);

void decode_cycles(const CycleBlock& block, DecodedCycles& out);

/// What edges leave beside a steady period, in 32 bits: cycle c rises at
/// first + c * period + rise[c] and falls at first + c * period + high +
/// fall[c] [ticks].
struct CycleResiduals {
  std::size_t count = 0;
  std::int64_t high = 0;
  std::array<std::int32_t, kMaxBlockCycles> rise;
  std::array<std::int32_t, kMaxBlockCycles> fall;
};
/// False, with nothing decoded, where residuals may reach kNarrowResidual.
bool decode_residuals(const CycleBlock& block, std::int64_t period,
                      CycleResiduals& out);

/// Both edges of one cycle, as offsets from `first` [ticks].
struct CycleEdges {
  std::int64_t rise;
  std::int64_t fall;
};
/// Cycle i (below count) alone.
CycleEdges cycle_edges(const CycleBlock& block, std::uint32_t i);

/// Gathers one cycle after the other and packs them when full.
class CycleEncoder {
 public:
  explicit CycleEncoder(Arena& arena) : arena_(&arena) {}
  bool empty() const { return falls_.empty(); }
  bool full() const { return falls_.size() == kMaxBlockCycles; }
  /// Cycles it can take before it is full.
  std::size_t room() const { return kMaxBlockCycles - falls_.size(); }
  /// Adds the cycle rise … next_rise; it must begin where the last one ended.
  void add(Ticks rise, Ticks fall, Ticks next_rise);
  /// The same for several, no more than there is room for: cycle i falls at
  /// falls[i] and ends at next_rises[i] [ticks].
  void add(Ticks rise, std::span<const std::int64_t> falls,
           std::span<const std::int64_t> next_rises);
  /// Packs what was gathered (not empty) and starts anew.
  CycleBlock flush();

 private:
  Arena* arena_;
  // Grow on demand: a file may declare thousands of channels that never move.
  std::vector<std::int64_t> rises_;  // one more than falls_ unless empty
  std::vector<std::int64_t> falls_;
};

}  // namespace clockassay
