// SPDX-License-Identifier: GPL-3.0-or-later
#include "clockassay/edges/sampling_window.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <cstdio>
#include <limits>
#include <numeric>
#include <set>

namespace clockassay {
namespace {

/// Different lengths of interval looked at in a block, and in all. Chosen: a
/// clock has a handful; any part of them bounds the sampling interval too.
constexpr std::size_t kBlockLengths = 64;
constexpr std::size_t kAllLengths = 4096;

/// More samples between two edges than this are not believed without being
/// stated: stamps printed from binary fractions carry noise far below any
/// sampling interval, which would pass for one. Chosen.
constexpr std::int64_t kMostSamples = 1'000'000;

/// What the intervals between neighbouring edges have in common.
struct IntervalScan {
  std::int64_t gcd = 0;
  std::int64_t shortest = std::numeric_limits<std::int64_t>::max();
  double grid_error = 0.0;  ///< largest distance from a multiple of T [ticks]
  std::set<std::int64_t> lengths;

  void add(std::int64_t interval, double grid) {
    gcd = std::gcd(gcd, interval);
    shortest = std::min(shortest, interval);
    if (lengths.size() < kBlockLengths) lengths.insert(interval);
    if (grid > 0.0) {
      const auto x = static_cast<double>(interval);
      grid_error =
          std::max(grid_error, std::abs(x - grid * std::round(x / grid)));
    }
  }
  void merge(const IntervalScan& other) {
    gcd = std::gcd(gcd, other.gcd);
    shortest = std::min(shortest, other.shortest);
    grid_error = std::max(grid_error, other.grid_error);
    if (lengths.size() < kAllLengths) {
      lengths.insert(other.lengths.begin(), other.lengths.end());
    }
  }
};

IntervalScan scan_block(const CycleBlock& block, bool rising_only,
                        double grid) {
  DecodedCycles decoded;
  decode_cycles(block, decoded);
  IntervalScan scan;
  const std::int64_t end = (block.end - block.first).count();
  // Clocks repeat themselves: most intervals are the last ones again.
  std::int64_t seen_high = 0, seen_low = 0;
  for (std::size_t i = 0; i < decoded.count; ++i) {
    const std::int64_t next = i + 1 < decoded.count ? decoded.rise[i + 1] : end;
    const std::int64_t middle = rising_only ? next : decoded.fall[i];
    const std::int64_t high = middle - decoded.rise[i];
    const std::int64_t low = next - middle;
    if (high != seen_high) scan.add(high, grid);
    if (low != seen_low && low > 0) scan.add(low, grid);
    seen_high = high;
    seen_low = low;
  }
  return scan;
}

/// The longest the sampling interval can be [ticks], for stamps in steps of
/// `text`. Two edges are at least a sample apart. Two intervals of as many
/// samples differ by less than two text steps, so that two differing by more
/// differ by at least a sample, give or take two steps.
std::int64_t longest_interval(const IntervalScan& scan, std::int64_t text) {
  std::int64_t bound = scan.shortest;
  for (const std::int64_t length : scan.lengths) {
    const auto next = scan.lengths.upper_bound(length + 2 * text);
    if (next != scan.lengths.end()) bound = std::min(bound, *next - length);
  }
  return bound + 2 * text;
}

void scan_ends(const EdgeRun& run, bool rising_only, double grid,
               IntervalScan& scan) {
  if (rising_only || !run.last_rise) return;
  if (run.leading_fall) {
    const Ticks first =
        run.blocks.empty() ? *run.last_rise : run.blocks.front().first;
    scan.add((first - *run.leading_fall).count(), grid);
  }
  if (run.trailing_fall) {
    scan.add((*run.trailing_fall - *run.last_rise).count(), grid);
  }
}

IntervalScan scan_intervals(std::span<const ChannelRecord> channels,
                            double grid, const ParallelFor& parallel_for) {
  struct Work {
    const CycleBlock* block;
    bool rising_only;
  };
  std::vector<Work> work;
  IntervalScan scan;
  for (const ChannelRecord& channel : channels) {
    for (const EdgeRun& run : channel.runs) {
      for (const CycleBlock& b : run.blocks) {
        work.push_back({&b, channel.rising_only});
      }
      scan_ends(run, channel.rising_only, grid, scan);
    }
  }
  std::vector<IntervalScan> parts(work.size());
  parallel_for(work.size(), [&](std::size_t i) {
    parts[i] = scan_block(*work[i].block, work[i].rising_only, grid);
  });
  for (const IntervalScan& part : parts) scan.merge(part);
  return scan;
}

std::string in_seconds(double ticks, const TimeGrid& grid) {
  std::array<char, 48> text;
  std::snprintf(text.data(), text.size(), "%.6g s",
                ticks * grid.tick_s.to_double());
  return text.data();
}

/// Sum of two rationals that are known to be small.
Rational sum(const Rational& a, const Rational& b) {
  return add(a, b).value_or(Rational(std::numeric_limits<int>::max()));
}

SamplingWindow stated_window(const IntervalScan& scan, const Rational& interval,
                             const TimeGrid& grid) {
  const Rational text(grid.text_resolution_ticks);
  SamplingWindow w;
  w.source = grid.source;
  w.sample_interval_s = grid.sample_interval_s;
  // Where the text can say every sample and every stamp is one, it rounds
  // nothing.
  const bool on_grid = interval.is_integer() &&
                       interval.num() % grid.text_resolution_ticks == 0 &&
                       static_cast<Int128>(scan.gcd) % interval.num() == 0;
  w.window_ticks = on_grid ? interval : sum(interval, text);
  if (text > interval) {
    w.warnings.push_back(
        {WarningCode::kTextCoarse,
         "times are written in steps of " + in_seconds(text.to_double(), grid) +
             ", coarser than the sampling interval of " +
             in_seconds(interval.to_double(), grid) +
             ": edges may have been lost in the writing; write more digits"});
  }
  // A stamp is off the grid by at most one text step, an interval by two; the
  // double it is computed in by far less.
  const double allowed = 2.0 * text.to_double() + 1e-6;
  const double t = interval.to_double();
  if (t > 2.0 * allowed && scan.grid_error > allowed) {
    w.warnings.push_back(
        {WarningCode::kSamplingContradicted,
         "the stated sampling interval of " + in_seconds(t, grid) +
             " does not fit: intervals between edges are off its multiples "
             "by up to " +
             in_seconds(scan.grid_error, grid)});
  } else if (static_cast<double>(scan.shortest) + allowed < t) {
    w.warnings.push_back(
        {WarningCode::kSamplingContradicted,
         "two edges are " +
             in_seconds(static_cast<double>(scan.shortest), grid) +
             " apart, less than the stated sampling interval of " +
             in_seconds(t, grid)});
  }
  return w;
}

SamplingWindow inferred_window(const IntervalScan& scan, const TimeGrid& grid) {
  const std::int64_t text = grid.text_resolution_ticks;
  const std::int64_t longest = longest_interval(scan, text);
  SamplingWindow w;
  w.window_ticks = Rational(longest + text);
  const std::string bound =
      "it is at most " + in_seconds(static_cast<double>(longest), grid) +
      ", and that is reckoned with; state the sample rate for a narrower "
      "result";
  // Samples at multiples of g explain all stamps without rounding, and a
  // sampling interval much longer than g would be seen.
  if (scan.gcd >= 2 * text && scan.gcd + 2 * text >= longest &&
      scan.shortest / scan.gcd <= kMostSamples) {
    w.source = SampleIntervalSource::kInferred;
    w.sample_interval_s = multiply(Rational(scan.gcd), grid.tick_s);
    w.warnings.push_back({WarningCode::kSamplingInferred,
                          "the sampling interval is not stated; by the "
                          "intervals between edges " +
                              bound});
  } else {
    w.warnings.push_back(
        {WarningCode::kSamplingNotVisible,
         "the sampling interval is neither stated nor visible; by the "
         "intervals between edges " +
             bound});
  }
  return w;
}

}  // namespace

SamplingWindow sampling_window(std::span<const ChannelRecord> channels,
                               const TimeGrid& grid,
                               const ParallelFor& parallel_for) {
  std::optional<Rational> interval;
  if (grid.sample_interval_s) {
    interval = divide(*grid.sample_interval_s, grid.tick_s);
  }
  const IntervalScan scan = scan_intervals(
      channels, interval ? interval->to_double() : 0.0, parallel_for);
  if (scan.gcd == 0) {  // no interval at all
    SamplingWindow w;
    w.window_ticks = Rational(grid.text_resolution_ticks);
    w.sample_interval_s = grid.sample_interval_s;
    w.source = grid.source;
    return w;
  }
  return interval ? stated_window(scan, *interval, grid)
                  : inferred_window(scan, grid);
}

}  // namespace clockassay
