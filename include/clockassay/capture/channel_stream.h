// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <cstddef>
#include <cstdint>
#include <optional>
#include <span>
#include <string>
#include <variant>
#include <vector>

#include "clockassay/base/units.h"
#include "clockassay/capture/arena.h"
#include "clockassay/capture/cycle_block.h"
#include "clockassay/capture/level_event.h"
#include "clockassay/capture/stamp_group.h"

namespace clockassay {

/// Whole cycles that follow each other, among the edges of their piece: cycle i
/// rises at rises[rise + i], falls at falls[fall + i] and ends at
/// rises[rise + i + 1].
struct PieceCycles {
  std::size_t rise = 0;
  std::size_t fall = 0;
  std::size_t count = 0;  ///< at least 1
};

/// One channel of one piece, in time order: raw statements and cycles.
/// The statements of the first and of the last stamp are kept raw, because the
/// neighbouring piece may add to them; so is everything that does not form
/// whole cycles. After cycles the rising edge at their end follows as a
/// statement.
struct PieceChannel {
  std::vector<std::variant<LevelEvent, PieceCycles>> items;
  std::vector<std::int64_t> rises;  ///< of the cycles [ticks]
  std::vector<std::int64_t> falls;
  std::int64_t zero_width_pulses = 0;  ///< but for what the raw stamps hold
};

/// Turns the level statements of one channel of one piece into a PieceChannel.
/// Settled view: of several statements at one time the last one counts; a
/// level left and resumed at one time is a zero-width pulse, counted, no edge.
/// Repeating the present level is no edge. Nothing before the first statement
/// is known.
class PieceChannelBuilder {
 public:
  /// From `time` on the level is `level`. Times must not decrease.
  void add(Ticks time, Level level);
  /// The same for levels that take turns, `first` at odd[0], the other at
  /// even[0], `first` at odd[1], …: both known, times increasing, the first of
  /// them after all that was added. odd has as many as even or one more.
  void add_alternating(Level first, std::span<const std::int64_t> odd,
                       std::span<const std::int64_t> even);
  /// The same as add(times[i], high[i] != 0 ? high : low) for each i.
  void add_many(std::span<const std::int64_t> times,
                std::span<const std::uint8_t> high);
  /// What was added; the builder is spent.
  PieceChannel finish();

 private:
  std::size_t add_turns(std::span<const std::int64_t> times,
                        std::span<const std::uint8_t> high);
  void close_group();
  void change_level(Ticks time, Level level);
  void add_cycles(std::span<const std::int64_t> falls,
                  std::span<const std::int64_t> next_rises);
  void flush_cycles();
  void emit_group();

  PieceChannel piece_;
  PieceCycles cycles_;  // gathered, not yet an item; none if it has none
  StampGroup group_;    // of the present stamp
  bool in_first_group_ = true;
  Level level_ = Level::kUnknown;  // settled before the present stamp
  // Edges of the cycle under way; the rise was not yet written to items.
  std::optional<Ticks> rise_;
  std::optional<Ticks> fall_;
};

/// A stretch in which the level is known throughout.
///   [leading_fall] r f r f … r f [last_rise [trailing_fall]]
/// The blocks follow each other without a hole: each one's end is the next
/// one's first, and the last one's end is last_rise.
struct EdgeRun {
  Ticks known_from;                   ///< first statement of a known level
  Ticks known_to;                     ///< last statement, or where it ended
  std::optional<Ticks> leading_fall;  ///< before any rising edge
  std::vector<CycleBlock> blocks;     ///< all full but the last
  std::optional<Ticks> last_rise;
  std::optional<Ticks> trailing_fall;
};

/// Everything a capture says about one channel.
struct ChannelRecord {
  std::string name;
  /// The names of ReadOptions::channels that mean this channel, in the order in
  /// which they were asked for; empty when none was.
  std::vector<std::string> asked;
  std::vector<EdgeRun> runs;  ///< in time order
  /// The file gave rising edges only; the falling ones are packing.
  bool rising_only = false;
  /// Edges were interpolated between samples of an analogue column.
  bool interpolated = false;
  /// Then the longest time from one of its samples to the next; else 0.
  Ticks longest_step;
  /// Then, where it never turns: between which values all of it lies, where it
  /// would have turned, and the way out, in words. Else empty.
  std::string never_turns;
  std::int64_t zero_width_pulses = 0;
  /// x, z or dump-off, of more than no duration, after the first run.
  std::int64_t unknown_stretches = 0;
};

/// Joins the pieces of one channel, in file order. The result does not depend
/// on where the pieces were cut: cycles are grouped anew, kMaxBlockCycles to a
/// block from the beginning of each run, so that everything computed block by
/// block later is the same, bit by bit, for any cuts and any threads.
class ChannelJoiner {
 public:
  explicit ChannelJoiner(Arena& arena);
  /// Packs the cycles into the joiner's arena.
  void append(const PieceChannel& piece);
  /// `end` is the last stamp of the capture: the last level held until then.
  /// The joiner is spent.
  ChannelRecord finish(std::string name, Ticks end);

 private:
  void add(const LevelEvent& event);
  void add(const PieceChannel& piece, const PieceCycles& cycles);
  void close_group();
  void change_level(Ticks time, Level level);
  void rise(Ticks time);
  void fall(Ticks time);
  void flush_cycles();
  void end_run(Ticks time);

  Arena* arena_;
  CycleEncoder encoder_;
  ChannelRecord record_;
  StampGroup group_;               // of the present stamp
  Level level_ = Level::kUnknown;  // settled before the present stamp
  EdgeRun run_;                    // under way while level_ is known
  std::optional<Ticks> rise_;      // edges of the cycle under way
  std::optional<Ticks> fall_;
};

}  // namespace clockassay
