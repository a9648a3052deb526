// SPDX-License-Identifier: GPL-3.0-or-later
#include "estimate/spectrum_scales.h"

#include <algorithm>
#include <cassert>
#include <cmath>
#include <utility>

#include "estimate/thinned_series.h"

namespace clockassay {
namespace {

constexpr std::size_t kShortestSegment = 128;
/// Sixteen segments that overlap by half are as long as 8.5. Chosen: a mean of
/// sixteen scatters by a quarter.
constexpr std::int64_t kFewestSegments = 16;
constexpr std::int64_t kFewestHalves = kFewestSegments + 1;
/// So many of the longest segments make a series long. Chosen.
constexpr std::int64_t kLong = 64;
/// Below the main lobe of the mean and the line that were taken off a density
/// says nothing; lines are looked for from here on.
constexpr std::size_t kFirstSearched = 2 * kMainLobe;

/// The bins up to `end`, from those of the periodogram; `response` of a bin is
/// what means left of it.
template <class Response>
void take_density(SpectrumScale& scale, std::size_t end, double least,
                  const Response& response) {
  const AveragedPeriodogram& p = scale.periodogram;
  SearchedDensity& s = scale.searched;
  s.bin_hz = p.bin_hz;
  s.averages = p.averages;
  s.segments = static_cast<std::size_t>(p.segments);
  for (std::size_t i = 0; i < end; ++i) {
    s.density.push_back(std::max(least, p.density[i] / response(i)));
  }
  scale.shown_first = kMainLobe;
}

void find_scale_floor(SpectrumScale& scale) {
  SearchedDensity& s = scale.searched;
  s.floor = find_floor(s.density, scale.shown_first, s.averages, scale.window);
}

SpectrumScale fine_scale(const SeriesReader& read, const SegmentPlan& plan,
                         double least, const ParallelFor& parallel_for) {
  SpectrumScale scale(plan.segment);
  scale.periodogram = average_periodograms(read, plan, parallel_for);
  if (scale.periodogram.segments == 0) return scale;
  const std::size_t end = plan.segment / 2 + 1;
  take_density(scale, end, least, [](std::size_t) { return 1.0; });
  SearchedDensity& s = scale.searched;
  // Half the sample rate is its own mirror image.
  s.density.back() = std::max(least, 2.0 * scale.periodogram.density.back());
  s.first = kFirstSearched;
  s.last = end - 1;
  s.to_half_rate = true;
  find_scale_floor(scale);
  return scale;
}

std::optional<SpectrumScale> coarse_scale(const SeriesReader& read,
                                          const SegmentPlan& plan, double least,
                                          const ParallelFor& parallel_for) {
  const auto segment = static_cast<std::int64_t>(plan.segment);
  std::int64_t factor = 1;
  while (2 * factor * (kFewestHalves * segment / 2 + 8) <= plan.count) {
    factor *= 2;
  }
  if (factor < 2) return std::nullopt;
  const ThinnedSeries means(read, plan.count, factor, parallel_for);
  const auto of_means = [&](std::int64_t at, std::span<double> out) {
    std::copy_n(means.values().begin() + at, out.size(), out.begin());
  };
  SegmentPlan thinned = plan;
  thinned.count = static_cast<std::int64_t>(means.values().size());
  thinned.sample_rate = plan.sample_rate / static_cast<double>(factor);
  SpectrumScale scale(plan.segment);
  scale.cycles = factor;
  scale.periodogram = average_periodograms(of_means, thinned, parallel_for);
  if (scale.periodogram.segments == 0) return std::nullopt;
  // An eighth of the rate of the means is used; half as much more serves the
  // floor.
  const std::size_t last = plan.segment / 8;
  const double bin = scale.periodogram.bin_hz / plan.sample_rate;
  take_density(scale, last + last / 2, least, [&](std::size_t i) {
    return means.power_response(static_cast<double>(i) * bin);
  });
  scale.searched.first = kFirstSearched;
  scale.searched.last = last;
  find_scale_floor(scale);
  return scale;
}

}  // namespace

Result<SpectrumScales> form_scales(const SeriesReader& read, std::int64_t count,
                                   double rate, double least,
                                   std::size_t longest,
                                   const ParallelFor& parallel_for) {
  SegmentPlan plan{count, kShortestSegment, rate};
  const auto fits = [&](std::size_t segment) {
    return static_cast<std::int64_t>(segment) * kFewestHalves <= 2 * count;
  };
  if (!fits(plan.segment)) {
    return failure(ErrorCode::kTooFewEdges,
                   "fewer than 1088 cycles: too few for a spectrum");
  }
  while (plan.segment < longest && fits(2 * plan.segment)) plan.segment *= 2;
  SpectrumScales scales{fine_scale(read, plan, least, parallel_for), {}};
  if (scales.fine.periodogram.segments == 0) {
    return failure(ErrorCode::kTooFewEdges,
                   "too many cycles are lost for a spectrum");
  }
  if (count >= kLong * static_cast<std::int64_t>(longest)) {
    scales.coarse = coarse_scale(read, plan, least, parallel_for);
  }
  if (scales.coarse) {
    const SearchedDensity& low = scales.coarse->searched;
    const double upto = static_cast<double>(low.last) * low.bin_hz;
    const auto from =
        static_cast<std::size_t>(upto / scales.fine.searched.bin_hz + 1.0);
    scales.fine.searched.first = std::max(kFirstSearched, from);
  }
  return scales;
}

}  // namespace clockassay
