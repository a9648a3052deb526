// SPDX-License-Identifier: GPL-3.0-or-later
#include "estimate/few_edges.h"

#include <algorithm>
#include <cmath>
#include <vector>

#include "clockassay/estimate/frequency_estimate.h"
#include "clockassay/estimate/student_t.h"
#include "estimate/noise_types.h"

namespace clockassay {
namespace {

/// Below this many periods jitter has no kind. Chosen.
constexpr std::int64_t kHardlyAnyPeriods = 8;
/// Chosen: with 16 periods a correlation of 0 is three deviations from -1/2.
constexpr double kTooFewPeriods = 16.0;

/// Time is cut into so many bins, each with the edges of a polarity in it.
/// Chosen: noise within a sixteenth of the view says little about the whole.
constexpr std::size_t kBins = 16;
/// With so few edges each has a bin of its own, even if they are uneven.
constexpr std::size_t kBinsOfSingles = 64;

/// Edges of one polarity, or neighbours taken together, off the line.
class PlaceBins {
 public:
  PlaceBins(std::size_t bins, bool fall) : bins_(bins), fall_(fall) {}

  void add(double time, double residual) {
    const auto at = static_cast<std::size_t>(std::min(time, 1.0 - 1e-9) *
                                             static_cast<double>(bins_.size()));
    Bin& bin = bins_[at];
    bin.n += 1.0;
    bin.time += time;
    bin.sum += residual;
    bin.squares += residual * residual;
  }
  void append_to(std::vector<EdgePlace>& places, WithinPlaces& within) const {
    for (const Bin& b : bins_) {
      if (b.n == 0.0) continue;
      places.push_back({b.time / b.n, fall_, b.sum / b.n, b.n});
      within.squares += std::max(0.0, b.squares - b.sum * b.sum / b.n);
      within.dof += b.n - 1.0;
    }
  }

 private:
  struct Bin {
    double n = 0.0, time = 0.0, sum = 0.0, squares = 0.0;
  };
  std::vector<Bin> bins_;
  bool fall_;
};

/// The places of a view's edges, in bins.
struct BinnedPlaces {
  std::vector<EdgePlace> places;
  WithinPlaces within;
};

BinnedPlaces bin_places(const EdgeView& view, const EdgeSums& sums,
                        const LineFit& line, std::size_t bins) {
  PlaceBins rise(bins, false), fall(bins, true);
  const auto span = static_cast<double>((view.to() - view.from()).count());
  BlockEdges block;
  const auto add = [&](const EdgeArray& edges, double intercept,
                       PlaceBins& to) {
    for (std::size_t i = 0; i < edges.count; ++i) {
      const std::int64_t since =
          (block.first_tick - view.from()).count() + edges.tick[i];
      const std::int64_t k = sums.frame.k(block.first_cycle, edges.cycle[i]);
      const std::int64_t y = sums.frame.y(block.first_cycle, block.first_tick,
                                          edges.cycle[i], edges.tick[i]);
      to.add(static_cast<double>(since) / span,
             static_cast<double>(y) - line.slope * static_cast<double>(k) -
                 intercept);
    }
  };
  for (std::size_t b = 0; b < view.block_count(); ++b) {
    view.read_block(b, block);
    add(block.rise, line.rise_intercept, rise);
    if (line.fall_intercept) add(block.fall, *line.fall_intercept, fall);
  }
  BinnedPlaces binned;
  rise.append_to(binned.places, binned.within);
  fall.append_to(binned.places, binned.within);
  return binned;
}

/// Half-width of the mean of periods that deviate each by itself; 0 where there
/// are no two, as between lost cycles.
double mean_half_width(const EdgeSums& sums) {
  if (sums.periods.periods < 2) return 0.0;
  const auto n = static_cast<double>(sums.periods.periods);
  return student_t_two_sided(kHalfWidthCoverage, n - 1.0) *
         std::sqrt(period_variance(sums.periods) / n);
}

}  // namespace

bool may_accumulate(const EdgeSums& sums, double window) {
  // Without jitter periods differ by one sample; half of one for the text.
  constexpr double kSampled = 1.5;
  constexpr double kOnceInTwenty = 1.645;
  const PeriodSums& p = sums.periods;
  if (p.periods < 2 || p.pairs < 1 || p.periods >= kFewPeriods ||
      static_cast<double>(p.period_max - p.period_min) <= kSampled * window) {
    return false;
  }
  const auto n = static_cast<double>(p.periods);
  return n < kTooFewPeriods ||
         period_correlation(p) >= -0.5 + kOnceInTwenty * std::sqrt(0.5 / n);
}

double few_edges_half_width(const EdgeView& view, const EdgeSums& sums,
                            const LineFit& line) {
  if (sums.periods.periods < kHardlyAnyPeriods) return mean_half_width(sums);
  const std::int64_t most = std::max(sums.rise.n, sums.fall.n);
  const bool singles = most <= static_cast<std::int64_t>(kBins);
  const BinnedPlaces binned =
      bin_places(view, sums, line, singles ? kBinsOfSingles : kBins);
  // A single edge is spread over nothing, or over hardly anything.
  const double width = singles ? 1e-3 : 1.0 / kBins;
  const auto half =
      singles
          ? noise_half_width(binned.places, width, binned.within, kQuickNoise)
          : noise_half_width(binned.places, width, binned.within, kAllNoise);
  const double period = static_cast<double>(sums.frame.period) + line.slope;
  return half.value_or(0.0) * period /
         static_cast<double>((view.to() - view.from()).count());
}

}  // namespace clockassay
