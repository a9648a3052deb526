// SPDX-License-Identifier: GPL-3.0-or-later
#include "clockassay/estimate/period_histogram.h"

#include <algorithm>
#include <array>
#include <cmath>

#include "estimate/frame_block.h"

namespace clockassay {
namespace {

Int128 floor_divide(Int128 a, Int128 b) {
  return a / b - (a % b < 0 ? 1 : 0);
}

/// A tick or more, and small enough for products with any period.
Rational usable_step(const Rational& step) {
  constexpr Int128 kMost = Int128{1} << 40;
  if (step < Rational(1)) return Rational(1);
  if (step.den() <= kMost) return step;
  return Rational(static_cast<std::int64_t>(std::llround(step.to_double())));
}

/// Bins of periods [ticks], by the multiple of the step nearest to each.
class Bins {
 public:
  Bins(std::int64_t shortest, std::int64_t longest, const Rational& step)
      : step_(usable_step(step)), first_(nearest(shortest)) {
    const Int128 steps = nearest(longest) - first_ + 1;
    constexpr Int128 kMost = kMostHistogramBins;
    per_bin_ = (steps + kMost - 1) / kMost;
    count_ = static_cast<std::size_t>((steps + per_bin_ - 1) / per_bin_);
    for (std::size_t i = 0; i < count_; ++i) begins_[i] = begin_of(i);
    bins_per_tick_ = 1.0 / width();
  }

  std::size_t of(std::int64_t period) const {
    const double guess =
        static_cast<double>(period - begins_[0]) * bins_per_tick_;
    auto i = static_cast<std::size_t>(
        std::clamp(guess, 0.0, static_cast<double>(count_ - 1)));
    while (i > 0 && period < begins_[i]) --i;
    while (i + 1 < count_ && period >= begins_[i + 1]) ++i;
    return i;
  }

  std::size_t count() const { return count_; }
  double width() const {
    return static_cast<double>(per_bin_) * step_.to_double();
  }
  double first() const {
    return (static_cast<double>(first_) - 0.5) * step_.to_double();
  }

 private:
  /// Halves go up.
  Int128 nearest(std::int64_t period) const {
    return floor_divide(2 * Int128(period) * step_.den() + step_.num(),
                        2 * step_.num());
  }
  /// The first tick of a bin.
  std::int64_t begin_of(std::size_t i) const {
    const Int128 multiple = first_ + static_cast<Int128>(i) * per_bin_;
    return static_cast<std::int64_t>(
        -floor_divide(-step_.num() * (2 * multiple - 1), 2 * step_.den()));
  }

  Rational step_;
  Int128 first_, per_bin_ = 1;
  std::size_t count_ = 1;
  double bins_per_tick_ = 0.0;
  std::array<std::int64_t, kMostHistogramBins> begins_{};
};

/// What a run of blocks counts, and its ends, k and y of the frame.
struct Counts {
  std::array<std::int64_t, kMostHistogramBins> bins{};
  std::optional<NumberedEdge> first, last;

  /// A rising edge after the last; `period` is that of the frame.
  void add(const NumberedEdge& edge, std::int64_t period, const Bins& of) {
    if (!first) first = edge;
    if (last && edge.cycle == last->cycle + 1) {
      ++bins[of.of(period + edge.tick - last->tick)];
    }
    last = edge;
  }
};

Counts count_blocks(const EdgeView& view, const EdgeFrame& frame,
                    const Bins& bins, std::size_t begin, std::size_t end) {
  Counts counts;
  FrameBlock block;
  for (std::size_t i = begin; i < end; ++i) {
    block.read(view, i, frame);
    block.visit([&](const auto& rise, const auto&) {
      for (std::size_t j = 0; j < rise.count(); ++j) {
        counts.add({rise.k(j), rise.y(j)}, frame.period, bins);
      }
    });
  }
  return counts;
}

}  // namespace

std::optional<PeriodHistogram> count_periods(const EdgeView& view,
                                             const EdgeSums& sums,
                                             const Rational& step_ticks,
                                             double tick_s,
                                             const ParallelFor& parallel_for) {
  if (sums.periods.periods == 0) return std::nullopt;
  const EdgeFrame& frame = sums.frame;
  const Bins bins(frame.period + sums.periods.period_min,
                  frame.period + sums.periods.period_max, step_ticks);
  constexpr std::size_t kRuns = 64;  // chosen: enough for any threads
  const std::size_t blocks = view.block_count();
  std::vector<Counts> runs(std::min(kRuns, blocks));
  parallel_for(runs.size(), [&](std::size_t i) {
    runs[i] = count_blocks(view, frame, bins, i * blocks / runs.size(),
                           (i + 1) * blocks / runs.size());
  });
  Counts all;
  for (const Counts& run : runs) {
    for (std::size_t i = 0; i < bins.count(); ++i) all.bins[i] += run.bins[i];
    if (!run.first) continue;
    all.add(*run.first, frame.period, bins);
    all.last = run.last;
  }
  PeriodHistogram histogram;
  histogram.first = Seconds(bins.first() * tick_s);
  histogram.bin = Seconds(bins.width() * tick_s);
  histogram.counts.assign(
      all.bins.begin(),
      all.bins.begin() + static_cast<std::ptrdiff_t>(bins.count()));
  return histogram;
}

}  // namespace clockassay
