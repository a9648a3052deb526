// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <array>
#include <cstddef>
#include <cstdint>
#include <optional>
#include <variant>
#include <vector>

#include "clockassay/base/units.h"
#include "clockassay/capture/cycle_block.h"

namespace clockassay {

/// Most edges of one polarity that a decoded block holds: the cycles of a
/// packed block, and the two lone edges at the ends of a run.
inline constexpr std::size_t kMaxBlockEdges = kMaxBlockCycles + 2;

/// An edge with its cycle number. Rising edge k and the falling edge that ends
/// its high time carry the same number.
struct NumberedEdge {
  std::int64_t cycle;  ///< relative to the block's first_cycle
  std::int64_t tick;   ///< relative to the block's first_tick
  friend bool operator==(const NumberedEdge&, const NumberedEdge&) = default;
};

/// Edges that do not number themselves by position: repaired ones, and the
/// lone edges at the ends of a run.
struct ExplicitEdges {
  std::vector<NumberedEdge> rise;
  std::vector<NumberedEdge> fall;
};

/// A part of a stretch. A packed block's cycles are numbered first_cycle,
/// first_cycle + 1, …; an explicit one carries its numbers.
struct NumberedBlock {
  Cycles first_cycle;
  Ticks first_tick;
  std::variant<CycleBlock, ExplicitEdges> edges;
};

/// Edges of one polarity as arrays, relative to the block's first.
struct EdgeArray {
  std::size_t count = 0;
  std::array<std::int64_t, kMaxBlockEdges> cycle;
  std::array<std::int64_t, kMaxBlockEdges> tick;
};

/// The edges of one block, relative to first_cycle and first_tick.
struct BlockEdges {
  Cycles first_cycle;
  Ticks first_tick;
  EdgeArray rise;
  EdgeArray fall;
};

enum class RepairKind {
  kMissingCycle,  ///< a cycle the capture does not show: the count goes on
  kExtraEdge,     ///< an edge no cycle explains: left out
};

/// One repair of the numbering.
struct Repair {
  RepairKind kind;
  Ticks time;          ///< of the extra edge, or of the edge after the loss
  std::int64_t count;  ///< cycles lost, or 1
  friend bool operator==(const Repair&, const Repair&) = default;
};

/// A part of a capture in which the clock kept one regime: no stop, no gross
/// change of frequency, no unknown level. Cycle numbers count on through it;
/// where they begin means nothing.
struct Stretch {
  std::vector<NumberedBlock> blocks;  ///< in time order
  std::int64_t rising = 0;
  std::int64_t falling = 0;
  std::int64_t missing = 0;  ///< cycles
  std::int64_t extra = 0;    ///< edges
  /// Cycles in blocks that number themselves although their periods vary by
  /// more than a quarter: strong jitter, or pulses missing in a regular
  /// pattern.
  std::int64_t uneven_cycles = 0;
  Ticks first;  ///< first and last edge kept
  Ticks last;
  bool rising_only = false;     ///< falling edges mean nothing
  std::vector<Repair> repairs;  ///< in time order
};

/// Why a stretch ended, seen from the one that follows it.
enum class StretchBreak {
  kStart,         ///< the capture begins
  kUnknownLevel,  ///< x, z, dump off
  kStopped,       ///< no edges for many periods
  kRegimeChange,  ///< another frequency
  // Not made by the numbering, which sees neither:
  kFrequencyStep,  ///< a finer step, seen in lines through many edges
  kSettlingEnds,   ///< the time stated for settling is over
};

/// One channel, numbered. Blocks point into the capture's arenas, which must
/// outlive the store.
struct EdgeStore {
  std::vector<Stretch> stretches;     ///< in time order
  std::vector<StretchBreak> breaks;   ///< one per stretch: what preceded it
  std::int64_t unnumbered_edges = 0;  ///< belonging to no stretch
  std::optional<Ticks> last_unnumbered;
};

enum class Polarity { kRising, kFalling };

/// A packed block that lies in a view with all its edges.
struct WholeBlock {
  const CycleBlock* cycles;
  Cycles first_cycle;
  /// The edges that are read as rising ones, and whether there are falling ones
  /// besides.
  Polarity rising = Polarity::kRising;
  bool has_falls = true;
};

/// A stretch, or the part of it between two instants. Cheap to copy; every
/// estimator takes one.
class EdgeView {
 public:
  explicit EdgeView(const Stretch& stretch);
  /// Only edges with from <= time <= to.
  EdgeView(const Stretch& stretch, Ticks from, Ticks to);
  /// Of these, only edges with from <= time <= to.
  EdgeView part(Ticks from, Ticks to) const;

  /// Only edges of one polarity, which are then read as rising ones.
  EdgeView only(Polarity polarity) const;
  /// Edges of the capture left out of the view's time as extra.
  std::int64_t extra_edges() const;

  std::size_t block_count() const { return end_ - begin_; }
  /// Decodes block i (0 … block_count()-1), edges outside the view left out.
  void read_block(std::size_t i, BlockEdges& out) const;
  /// Block i if it is packed and all of it is in the view; it is then the same
  /// as what read_block gives.
  std::optional<WholeBlock> whole_block(std::size_t i) const;
  /// Instant of the first edge block i holds, in the view or before it.
  Ticks block_first(std::size_t i) const;
  Ticks from() const { return from_; }
  Ticks to() const { return to_; }

 private:
  const NumberedBlock& block(std::size_t i) const {
    return stretch_->blocks[begin_ + i];
  }

  const Stretch* stretch_;
  std::size_t begin_;
  std::size_t end_;
  Ticks from_;
  Ticks to_;
  std::optional<Polarity> only_;
};

}  // namespace clockassay
