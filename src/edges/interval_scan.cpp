// SPDX-License-Identifier: GPL-3.0-or-later
#include "edges/interval_scan.h"

#include <bit>
#include <cmath>
#include <cstddef>
#include <cstdlib>
#include <numeric>
#include <optional>
#include <utility>
#include <vector>

#include "base/simd_level.h"

namespace clockassay {
namespace {

/// Different lengths of interval looked at in a block, and in all. Chosen: a
/// clock has a handful; any part of them bounds the sampling interval too.
constexpr std::size_t kBlockLengths = 64;
constexpr std::size_t kAllLengths = 4096;

/// Of the cycles of a block, so many may be interrupted for it still to be a
/// steady clock and not data. Chosen: an eighth; data of random bits change
/// by a whole bit every other time.
constexpr std::int64_t kSteadyShare = 8;

/// Whole numbers below are doubles, IEEE 754.
constexpr double kLargestCount = 0x1p53;

void add_interval(std::int64_t interval, const IntervalQuestion& q,
                  IntervalScan& scan) {
  scan.gcd = std::gcd(scan.gcd, interval);
  scan.shortest = std::min(scan.shortest, interval);
  if (scan.lengths.size() < kBlockLengths) scan.lengths.insert(interval);
  if (!q.sample) return;
  const auto x = static_cast<double>(interval);
  const double samples = std::round(x / *q.sample);
  scan.grid_error =
      std::max(scan.grid_error, std::abs(x - *q.sample * samples));
  if (scan.samples_gcd != 1 && counts_samples(q)) {
    // A count that a double does not hold has no divisor that means anything.
    scan.samples_gcd =
        samples < kLargestCount
            ? std::gcd(scan.samples_gcd, static_cast<std::int64_t>(samples))
            : 1;
  }
}

/// The changes of one kind of interval within a block: high times, low times,
/// or periods. Below four samples a period a high time may be one sample, and
/// only the period is long enough for a step to be small.
class Changes {
 public:
  explicit Changes(const IntervalQuestion& q)
      // What rounding cannot do: two stamps each are off by one text step.
      : visible_(2 * q.text),
        least_(counts_samples(q) ? 0.5 * *q.sample
                                 : 2.0 * static_cast<double>(q.text)) {}

  void add(std::int64_t before, std::int64_t after) {
    if (before == 0) return;
    const std::int64_t change = std::abs(after - before);
    // Chosen: half the interval. More is a lost or an extra pulse, not the
    // sampling of a steady clock.
    if (2 * change > std::min(before, after)) {
      ++interruptions_;
      return;
    }
    // Sampling and jitter take back what they add; another regime does not.
    const int direction = after > before ? 1 : -1;
    const bool back = direction == -last_direction_;
    last_direction_ = direction;
    if (!back) return;
    count_ += static_cast<double>(change) > least_;
    if (change > visible_) {
      ++visible_count_;
      shortest_ = std::min(shortest_, change);
    }
  }
  void interrupt() { ++interruptions_; }
  /// How often in a block of so many cycles; what is visible goes to `scan`.
  std::int64_t steps(std::int64_t cycles, ChangeScan& scan) const {
    if (interruptions_ * kSteadyShare > cycles) return 0;
    scan.visible_changes += visible_count_;
    scan.least_change = std::min(scan.least_change, shortest_);
    return count_;
  }

 private:
  std::int64_t visible_;
  double least_;
  int last_direction_ = 0;
  std::int64_t count_ = 0;
  std::int64_t visible_count_ = 0;
  std::int64_t interruptions_ = 0;
  std::int64_t shortest_ = std::numeric_limits<std::int64_t>::max();
};

/// Calls visit(high, low, period) for all cycles of a block; the low time is 0
/// where falling edges mean nothing.
template <class Visit>
void visit_intervals(const CycleBlock& block, bool rising_only,
                     const Visit& visit) {
  DecodedCycles decoded;
  decode_cycles(block, decoded);
  const std::int64_t end = (block.end - block.first).count();
  for (std::size_t i = 0; i < decoded.count; ++i) {
    const std::int64_t next = i + 1 < decoded.count ? decoded.rise[i + 1] : end;
    const std::int64_t middle = rising_only ? next : decoded.fall[i];
    visit(middle - decoded.rise[i], next - middle, next - decoded.rise[i]);
  }
}

/// Lengths of a block that are few and close together, as bits: bit i of
/// `highs` is a high time of high_min + i * step.
struct FewLengths {
  std::int64_t step = 1;
  std::uint64_t highs = 0;
  std::uint64_t lows = 0;
};

/// How far lengths of one kind differ within a block.
std::int64_t length_range(const CycleBlock& block) {
  return std::max(block.high_max - block.high_min,
                  block.low_max - block.low_min);
}

/// The high and the low time of one cycle.
std::pair<std::int64_t, std::int64_t> halves(const CycleBlock& block,
                                             std::uint32_t i) {
  const CycleEdges edges = cycle_edges(block, i);
  const std::int64_t next = i + 1 < block.count
                                ? cycle_edges(block, i + 1).rise
                                : (block.end - block.first).count();
  return {edges.fall - edges.rise, next - edges.fall};
}

/// What the high and the low times of the first cycles have in common; those of
/// a sampled clock are whole samples.
std::int64_t common_step(const CycleBlock& block) {
  constexpr std::uint32_t kLook = 64;  // chosen: a clock repeats itself
  std::int64_t step =
      std::gcd(block.high_max - block.high_min, block.low_max - block.low_min);
  for (std::uint32_t i = 0; i < std::min(kLook, block.count); ++i) {
    const auto [high, low] = halves(block, i);
    step = std::gcd(step, high - block.high_min);
    step = std::gcd(step, low - block.low_min);
  }
  return step;
}

template <class Offset, bool kUnitStep, class Bits>
CLOCKASSAY_KERNEL bool mark_lengths(const CycleBlock& block,
                                    FewLengths& lengths) {
  const auto* rises = reinterpret_cast<const Offset*>(block.offsets);
  const Offset* highs = rises + block.count;
  const auto base = static_cast<std::int32_t>(block.base_period -
                                              block.base_high - block.low_min);
  const auto high_base =
      static_cast<std::int32_t>(block.base_high - block.high_min);
  const auto step = static_cast<std::int32_t>(lengths.step);
  const double per_step = 1.0 / static_cast<double>(step);
  // A step is a bit; fewer of them fit more at once.
  constexpr std::int32_t kLastBit = 8 * sizeof(Bits) - 1;
  constexpr std::uint32_t kTick = std::uint32_t{1} << kCycleFractionBits;
  const std::uint32_t fraction = block.fraction;
  Bits high_bits = 0, low_bits = 0;
  std::int32_t off = 0;
  std::uint32_t place = 0;  // of cycle i, in 2^-20 ticks
  const auto count = static_cast<std::int32_t>(block.count);
  for (std::int32_t i = 0; i + 1 < count; ++i) {
    const auto part = static_cast<std::int32_t>(
        ((place & (kTick - 1)) + fraction) >> kCycleFractionBits);
    place += fraction;
    const std::int32_t high = high_base + highs[i];
    const std::int32_t low = base + part + rises[i + 1] - rises[i] - highs[i];
    const auto in_steps = [per_step](std::int32_t length) {
      // As good as any rounding: `off` tells what is no whole number.
      // NOLINTNEXTLINE(bugprone-incorrect-roundings)
      return static_cast<std::int32_t>(length * per_step + 0.5);
    };
    const std::int32_t high_steps = kUnitStep ? high : in_steps(high);
    const std::int32_t low_steps = kUnitStep ? low : in_steps(low);
    off |= (high_steps * step - high) | (low_steps * step - low);
    high_bits |= Bits{1} << (high_steps & kLastBit);
    low_bits |= Bits{1} << (low_steps & kLastBit);
  }
  lengths.highs |= high_bits;
  lengths.lows |= low_bits;
  return off == 0;
}

template <class Offset>
CLOCKASSAY_KERNEL bool mark_any_of(const CycleBlock& block,
                                   FewLengths& lengths) {
  if (lengths.step != 1) {
    return mark_lengths<Offset, false, std::uint64_t>(block, lengths);
  }
  return length_range(block) < 32
             ? mark_lengths<Offset, true, std::uint32_t>(block, lengths)
             : mark_lengths<Offset, true, std::uint64_t>(block, lengths);
}

CLOCKASSAY_KERNEL bool mark_any(const CycleBlock& block, FewLengths& lengths) {
  return block.width == 1 ? mark_any_of<std::int8_t>(block, lengths)
                          : mark_any_of<std::int16_t>(block, lengths);
}

CLOCKASSAY_AT_LEVEL(bool, mark, (const CycleBlock& block, FewLengths& lengths),
                    (block, lengths))

/// The lengths of a block, if they are few and whole steps apart.
std::optional<FewLengths> few_lengths(const CycleBlock& block) {
  constexpr std::int64_t kBits = 64;
  constexpr std::int64_t kNarrow = std::int64_t{1} << 30;
  const std::int64_t range = length_range(block);
  if (block.width > 2 || block.period_max >= kNarrow) return std::nullopt;
  FewLengths lengths;
  if (range >= kBits) lengths.step = common_step(block);
  if (range / lengths.step >= kBits) return std::nullopt;
  if (!mark(block, lengths)) return std::nullopt;
  // The last low time, which ends with the block.
  const auto [high, low] = halves(block, block.count - 1);
  if ((high - block.high_min) % lengths.step != 0 ||
      (low - block.low_min) % lengths.step != 0) {
    return std::nullopt;
  }
  lengths.highs |= std::uint64_t{1} << (high - block.high_min) / lengths.step;
  lengths.lows |= std::uint64_t{1} << (low - block.low_min) / lengths.step;
  return lengths;
}

IntervalScan scan_block(const CycleBlock& block, bool rising_only,
                        const IntervalQuestion& q) {
  IntervalScan scan;
  const auto cycles = static_cast<std::int64_t>(block.count);
  scan.count = rising_only ? cycles : 2 * cycles;
  scan.first = block.first.count();
  scan.last = block.end.count();
  const auto few = rising_only ? std::nullopt : few_lengths(block);
  if (few) {
    for (std::uint64_t bits = few->highs; bits != 0; bits &= bits - 1) {
      add_interval(block.high_min + std::countr_zero(bits) * few->step, q,
                   scan);
    }
    for (std::uint64_t bits = few->lows; bits != 0; bits &= bits - 1) {
      add_interval(block.low_min + std::countr_zero(bits) * few->step, q, scan);
    }
    return scan;
  }
  // Clocks repeat themselves: most intervals are the last ones again.
  std::int64_t seen_high = 0, seen_low = 0;
  visit_intervals(block, rising_only,
                  [&](std::int64_t high, std::int64_t low, std::int64_t) {
                    if (high != seen_high) add_interval(high, q, scan);
                    if (low != seen_low && low > 0) add_interval(low, q, scan);
                    seen_high = high;
                    seen_low = low;
                  });
  return scan;
}

/// The lengths of one cycle.
struct CycleLengths {
  std::int64_t high, low, period;
};

/// The changes within a block, of cycles that lie between whole ones: a pulse
/// more or less makes those beside it shorter or longer by any amount.
class BlockChanges {
 public:
  explicit BlockChanges(const IntervalQuestion& q)
      : high_(q), low_(q), period_(q) {}

  void add(const CycleLengths& cycle) {
    const std::int64_t change = std::abs(cycle.period - last_period_);
    const bool is_broken =
        last_period_ != 0 && 2 * change > std::min(cycle.period, last_period_);
    last_period_ = cycle.period;
    if (is_broken) {
      for (Changes* changes : {&high_, &low_, &period_}) changes->interrupt();
      waiting_.reset();
      whole_ = 0;
      return;
    }
    if (waiting_) take(*waiting_);
    waiting_.reset();
    if (++whole_ > kAfterABreak) waiting_ = cycle;
  }

  ChangeScan finish(std::int64_t cycles) {
    if (waiting_) take(*waiting_);
    ChangeScan scan;
    // A step of the period is one of its halves: counted once.
    const std::int64_t halves =
        high_.steps(cycles, scan) + low_.steps(cycles, scan);
    scan.changes = std::max(halves, period_.steps(cycles, scan));
    return scan;
  }

 private:
  /// The cycle that a break ends with, and the one whose low time it may end.
  static constexpr int kAfterABreak = 1;

  void take(const CycleLengths& c) {
    if (c.high != seen_.high) high_.add(seen_.high, c.high);
    if (c.low != seen_.low && c.low > 0) low_.add(seen_.low, c.low);
    if (c.period != seen_.period) period_.add(seen_.period, c.period);
    seen_ = c;
  }

  Changes high_, low_, period_;
  CycleLengths seen_{0, 0, 0};
  std::int64_t last_period_ = 0;
  std::optional<CycleLengths> waiting_;
  int whole_ = kAfterABreak;
};

ChangeScan changes_of_block(const CycleBlock& block, bool rising_only,
                            const IntervalQuestion& q) {
  BlockChanges changes(q);
  visit_intervals(
      block, rising_only,
      [&](std::int64_t high, std::int64_t low, std::int64_t period) {
        changes.add({high, low, period});
      });
  return changes.finish(static_cast<std::int64_t>(block.count));
}

/// The blocks of channels whose stamps are samples.
struct SampledBlock {
  const CycleBlock* block;
  bool rising_only;
};

std::vector<SampledBlock> sampled_blocks(
    std::span<const ChannelRecord> channels) {
  std::vector<SampledBlock> blocks;
  for (const ChannelRecord& channel : channels) {
    if (channel.interpolated) continue;
    for (const EdgeRun& run : channel.runs) {
      for (const CycleBlock& b : run.blocks) {
        blocks.push_back({&b, channel.rising_only});
      }
    }
  }
  return blocks;
}

/// The changes of a channel until they are enough, looked at everywhere first:
/// it may be steadier in one place than in another.
ChangeScan changes_of_channel(const ChannelRecord& channel,
                              const IntervalQuestion& question,
                              const ChangesEnough& are_enough,
                              const ParallelFor& parallel_for) {
  constexpr std::size_t kAtOnce = 64;  // chosen: some for every processor
  const std::vector<SampledBlock> blocks = sampled_blocks({&channel, 1});
  const std::size_t rounds = (blocks.size() + kAtOnce - 1) / kAtOnce;
  ChangeScan scan;
  for (std::size_t round = 0; round < rounds; ++round) {
    std::vector<ChangeScan> parts((blocks.size() - round + rounds - 1) /
                                  rounds);
    parallel_for(parts.size(), [&](std::size_t i) {
      const SampledBlock& b = blocks[round + i * rounds];
      parts[i] = changes_of_block(*b.block, b.rising_only, question);
    });
    for (const ChangeScan& part : parts) scan.merge(part);
    if (are_enough(scan)) break;
  }
  return scan;
}

void scan_ends(const EdgeRun& run, bool rising_only, const IntervalQuestion& q,
               IntervalScan& scan) {
  if (rising_only || !run.last_rise) return;
  const auto add = [&](Ticks from, Ticks to) {
    add_interval((to - from).count(), q, scan);
    ++scan.count;
    scan.first = std::min(scan.first, from.count());
    scan.last = std::max(scan.last, to.count());
  };
  if (run.leading_fall) {
    add(*run.leading_fall,
        run.blocks.empty() ? *run.last_rise : run.blocks.front().first);
  }
  if (run.trailing_fall) add(*run.last_rise, *run.trailing_fall);
}

}  // namespace

void IntervalScan::merge(const IntervalScan& other) {
  count += other.count;
  gcd = std::gcd(gcd, other.gcd);
  shortest = std::min(shortest, other.shortest);
  if (lengths.size() < kAllLengths) {
    lengths.insert(other.lengths.begin(), other.lengths.end());
  }
  first = std::min(first, other.first);
  last = std::max(last, other.last);
  grid_error = std::max(grid_error, other.grid_error);
  samples_gcd = std::gcd(samples_gcd, other.samples_gcd);
}

void ChangeScan::merge(const ChangeScan& other) {
  changes += other.changes;
  visible_changes += other.visible_changes;
  least_change = std::min(least_change, other.least_change);
}

IntervalScan scan_intervals(std::span<const ChannelRecord> channels,
                            const IntervalQuestion& question,
                            const ParallelFor& parallel_for) {
  IntervalScan scan;
  for (const ChannelRecord& channel : channels) {
    if (channel.interpolated) continue;  // its stamps are no samples
    for (const EdgeRun& run : channel.runs) {
      scan_ends(run, channel.rising_only, question, scan);
    }
  }
  const std::vector<SampledBlock> blocks = sampled_blocks(channels);
  std::vector<IntervalScan> parts(blocks.size());
  parallel_for(blocks.size(), [&](std::size_t i) {
    parts[i] = scan_block(*blocks[i].block, blocks[i].rising_only, question);
  });
  for (const IntervalScan& part : parts) scan.merge(part);
  return scan;
}

ChangeScan scan_changes(std::span<const ChannelRecord> channels,
                        const IntervalQuestion& question,
                        const ChangesEnough& are_enough,
                        const ParallelFor& parallel_for) {
  ChangeScan scan;
  for (const ChannelRecord& channel : channels) {
    scan.merge(changes_of_channel(channel, question, are_enough, parallel_for));
  }
  return scan;
}

}  // namespace clockassay
