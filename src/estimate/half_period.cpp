// SPDX-License-Identifier: GPL-3.0-or-later
#include "clockassay/estimate/half_period.h"

#include <algorithm>
#include <cmath>
#include <limits>
#include <vector>

#include "estimate/frame_block.h"

namespace clockassay {
namespace {

/// Half periods less a whole number of ticks.
struct HalfSums {
  std::int64_t n = 0;
  Int128 sum = 0;
  Int128 squares = 0;
  std::int64_t low = std::numeric_limits<std::int64_t>::max();
  std::int64_t high = std::numeric_limits<std::int64_t>::min();

  void add(std::int64_t h) {
    ++n;
    sum += h;
    squares += Int128(h) * h;
    low = std::min(low, h);
    high = std::max(high, h);
  }
  void merge(const HalfSums& o) {
    n += o.n;
    sum += o.sum;
    squares += o.squares;
    low = std::min(low, o.low);
    high = std::max(high, o.high);
  }
};

struct BlockPart {
  HalfSums halves;
  std::optional<NumberedEdge> first_rise, last_fall;  // k and y of the frame
};

/// Half periods as the frame has them: from a rise to its fall the difference
/// of y, to the next rise a period more.
class HalfChain {
 public:
  HalfChain(std::int64_t period, std::int64_t base, HalfSums& sums)
      : period_(period), base_(base), sums_(&sums) {}
  void high(const NumberedEdge& rise, const NumberedEdge& fall) {
    sums_->add(fall.tick - rise.tick - base_);
  }
  void low(const NumberedEdge& fall, const NumberedEdge& rise) {
    if (rise.cycle != fall.cycle + 1) return;
    sums_->add(period_ + rise.tick - fall.tick - base_);
  }

 private:
  std::int64_t period_, base_;
  HalfSums* sums_;
};

template <class Edges>
NumberedEdge edge(const Edges& edges, std::size_t i) {
  return {edges.k(i), edges.y(i)};
}

/// Both polarities by cycle; either may lack one.
template <class Edges>
void add_halves(const Edges& rise, const Edges& fall, HalfChain& chain) {
  std::size_t r = 0, f = 0;
  while (f < fall.count()) {
    while (r < rise.count() && rise.k(r) < fall.k(f)) ++r;
    if (r < rise.count() && rise.k(r) == fall.k(f)) {
      chain.high(edge(rise, r), edge(fall, f));
      ++r;
    }
    if (r < rise.count()) chain.low(edge(fall, f), edge(rise, r));
    ++f;
  }
}

}  // namespace

std::optional<HalfPeriodJitter> describe_half_periods(
    const EdgeView& view, const EdgeSums& sums, double slope, double tick_s,
    const ParallelFor& parallel_for) {
  if (sums.fall.n == 0) return std::nullopt;
  const std::int64_t period = sums.frame.period;
  const std::int64_t base = period / 2;
  std::vector<BlockPart> parts(view.block_count());
  parallel_for(parts.size(), [&](std::size_t i) {
    FrameBlock block;
    block.read(view, i, sums.frame);
    block.visit([&](const auto& rise, const auto& fall) {
      HalfChain chain(period, base, parts[i].halves);
      add_halves(rise, fall, chain);
      if (rise.count() > 0) parts[i].first_rise = edge(rise, 0);
      if (fall.count() > 0) {
        parts[i].last_fall = edge(fall, fall.count() - 1);
      }
    });
  });
  HalfSums all;
  HalfChain chain(period, base, all);
  std::optional<NumberedEdge> last_fall;
  for (const BlockPart& part : parts) {
    all.merge(part.halves);
    if (last_fall && part.first_rise) chain.low(*last_fall, *part.first_rise);
    if (part.last_fall) last_fall = part.last_fall;
  }
  if (all.n == 0) return std::nullopt;
  const double half =
      0.5 * (static_cast<double>(period) + slope) - static_cast<double>(base);
  const auto n = static_cast<double>(all.n);
  const double mean = static_cast<double>(all.sum) / n;
  // About the mean first, exactly, so that nothing cancels.
  const double about_mean =
      static_cast<double>(Int128(all.n) * all.squares - all.sum * all.sum) /
      (n * n);
  HalfPeriodJitter jitter;
  jitter.count = all.n;
  jitter.rms =
      Seconds(std::sqrt(about_mean + (mean - half) * (mean - half)) * tick_s);
  jitter.peak = Seconds(std::max(static_cast<double>(all.high) - half,
                                 half - static_cast<double>(all.low)) *
                        tick_s);
  return jitter;
}

}  // namespace clockassay
