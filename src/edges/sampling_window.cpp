// SPDX-License-Identifier: GPL-3.0-or-later
#include "clockassay/edges/sampling_window.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <cstdio>
#include <limits>
#include <numeric>

namespace clockassay {
namespace {

/// What the intervals between neighbouring edges have in common.
struct IntervalScan {
  std::int64_t gcd = 0;
  std::int64_t shortest = std::numeric_limits<std::int64_t>::max();
  double grid_error = 0.0;  ///< largest distance from a multiple of T [ticks]

  void add(std::int64_t interval, double grid) {
    gcd = std::gcd(gcd, interval);
    shortest = std::min(shortest, interval);
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
  }
};

IntervalScan scan_block(const CycleBlock& block, bool rising_only,
                        double grid) {
  DecodedCycles decoded;
  decode_cycles(block, decoded);
  IntervalScan scan;
  const std::int64_t end = (block.end - block.first).count();
  // Clocks repeat themselves: the last few intervals are most of all.
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
  const bool on_grid = interval.is_integer() &&
                       static_cast<Int128>(scan.gcd) % interval.num() == 0;
  w.window_ticks = on_grid ? interval : sum(interval, text);
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
  SamplingWindow w;
  if (scan.gcd >= 2 * text) {
    w.source = SampleIntervalSource::kInferred;
    w.window_ticks = Rational(scan.gcd + 2 * text);
    w.sample_interval_s = multiply(Rational(scan.gcd), grid.tick_s);
    w.warnings.push_back(
        {WarningCode::kSamplingInferred,
         "the sampling interval is not stated; " +
             in_seconds(static_cast<double>(scan.gcd), grid) +
             " divides every interval and is taken as its upper bound; "
             "stating the sample rate may narrow the result"});
    return w;
  }
  w.window_ticks = Rational(scan.shortest);
  w.warnings.push_back(
      {WarningCode::kSamplingNotVisible,
       "the sampling interval is neither stated nor visible in the file; the "
       "shortest interval between edges, " +
           in_seconds(static_cast<double>(scan.shortest), grid) +
           ", bounds it; state the sample rate for a narrower result"});
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
