// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <array>
#include <cstddef>
#include <cstdint>
#include <span>
#include <vector>

#include "clockassay/base/units.h"
#include "clockassay/capture/arena.h"

namespace clockassay {

/// Most cycles one block holds. Chosen: its scratch arrays stay in L1.
inline constexpr std::size_t kMaxBlockCycles = 2048;

/// Up to kMaxBlockCycles consecutive cycles of one channel, about a byte an
/// edge. Cycle c rises at r[c], falls at f[c], and ends where the next rises:
///   r[0] = first; r[c+1] = r[c] + base_period + dR[c];
///   f[c] = r[c] + base_high + dH[c]
/// so one prefix sum of dR yields both polarities. The end r[count] is the
/// rising edge that follows in the stream; it is not one of the block's edges.
/// Invariant: 0 < high < period for every cycle.
struct CycleBlock {
  Ticks first;
  std::int64_t base_period = 0;
  std::int64_t base_high = 0;
  std::int64_t period_min = 0;
  std::int64_t period_max = 0;
  std::int64_t high_min = 0;
  std::int64_t high_max = 0;
  Ticks end;                           ///< r[count]
  std::uint32_t count = 0;             ///< cycles, at least 1
  std::uint8_t width = 1;              ///< bytes per offset: 1, 2, 4 or 8
  const std::byte* offsets = nullptr;  ///< dR[count] then dH[count]
};

/// The edges of one block, as offsets from `first` [ticks].
struct DecodedCycles {
  Ticks first;
  std::size_t count = 0;
  std::array<std::int64_t, kMaxBlockCycles> rise;
  std::array<std::int64_t, kMaxBlockCycles> fall;
};

/// Packs cycles given by their periods and high times [ticks], equal lengths,
/// 1 … kMaxBlockCycles, 0 < high < period.
CycleBlock encode_cycles(Ticks first, std::span<const std::int64_t> periods,
                         std::span<const std::int64_t> highs, Arena& arena);

void decode_cycles(const CycleBlock& block, DecodedCycles& out);

/// Gathers one cycle after the other and packs them when full.
class CycleEncoder {
 public:
  explicit CycleEncoder(Arena& arena) : arena_(&arena) {}
  bool empty() const { return periods_.empty(); }
  bool full() const { return periods_.size() == kMaxBlockCycles; }
  /// Adds the cycle rise … next_rise; it must begin where the last one ended.
  void add(Ticks rise, Ticks fall, Ticks next_rise);
  /// Packs what was gathered (not empty) and starts anew.
  CycleBlock flush();

 private:
  Arena* arena_;
  Ticks first_;
  Ticks end_;
  // Grow on demand: a file may declare thousands of channels that never move.
  std::vector<std::int64_t> periods_;
  std::vector<std::int64_t> highs_;
};

}  // namespace clockassay
