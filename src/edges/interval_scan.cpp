// SPDX-License-Identifier: GPL-3.0-or-later
#include "edges/interval_scan.h"

#include <cmath>
#include <cstddef>
#include <cstdlib>
#include <numeric>
#include <vector>

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
  /// How often in a block of so many cycles; what is visible goes to `scan`.
  std::int64_t steps(std::int64_t cycles, IntervalScan& scan) const {
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

IntervalScan scan_block(const CycleBlock& block, bool rising_only,
                        const IntervalQuestion& q) {
  DecodedCycles decoded;
  decode_cycles(block, decoded);
  IntervalScan scan;
  Changes high_changes(q), low_changes(q), period_changes(q);
  const std::int64_t end = (block.end - block.first).count();
  // Clocks repeat themselves: most intervals are the last ones again.
  std::int64_t seen_high = 0, seen_low = 0, seen_period = 0;
  for (std::size_t i = 0; i < decoded.count; ++i) {
    const std::int64_t next = i + 1 < decoded.count ? decoded.rise[i + 1] : end;
    const std::int64_t middle = rising_only ? next : decoded.fall[i];
    const std::int64_t high = middle - decoded.rise[i];
    const std::int64_t low = next - middle;
    if (high != seen_high) {
      add_interval(high, q, scan);
      if (q.sample) high_changes.add(seen_high, high);
      seen_high = high;
    }
    if (low != seen_low && low > 0) {
      add_interval(low, q, scan);
      if (q.sample) low_changes.add(seen_low, low);
    }
    seen_low = low;
    const std::int64_t period = next - decoded.rise[i];
    if (q.sample && period != seen_period) {
      period_changes.add(seen_period, period);
    }
    seen_period = period;
  }
  const auto cycles = static_cast<std::int64_t>(decoded.count);
  scan.count = rising_only ? cycles : 2 * cycles;
  scan.first = block.first.count();
  scan.last = block.end.count();
  if (q.sample) {
    // A step of the period is one of its halves: counted once.
    const std::int64_t halves =
        high_changes.steps(cycles, scan) + low_changes.steps(cycles, scan);
    scan.changes = std::max(halves, period_changes.steps(cycles, scan));
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
  changes += other.changes;
  visible_changes += other.visible_changes;
  least_change = std::min(least_change, other.least_change);
}

IntervalScan scan_intervals(std::span<const ChannelRecord> channels,
                            const IntervalQuestion& question,
                            const ParallelFor& parallel_for) {
  struct Work {
    const CycleBlock* block;
    bool rising_only;
  };
  std::vector<Work> work;
  IntervalScan scan;
  for (const ChannelRecord& channel : channels) {
    if (channel.interpolated) continue;  // its stamps are no samples
    for (const EdgeRun& run : channel.runs) {
      for (const CycleBlock& b : run.blocks) {
        work.push_back({&b, channel.rising_only});
      }
      scan_ends(run, channel.rising_only, question, scan);
    }
  }
  std::vector<IntervalScan> parts(work.size());
  parallel_for(work.size(), [&](std::size_t i) {
    parts[i] = scan_block(*work[i].block, work[i].rising_only, question);
  });
  for (const IntervalScan& part : parts) scan.merge(part);
  return scan;
}

}  // namespace clockassay
