// SPDX-License-Identifier: GPL-3.0-or-later
#include "edges/regime_watch.h"

#include <algorithm>
#include <cmath>

#include "base/median.h"
#include "edges/block_regularity.h"

namespace clockassay {
namespace {

/// Rising edges in a row that fit no cycle and show another regime. Chosen.
constexpr std::size_t kRegimeEdges = 8;
/// Edges in a row fitting no cycle after which the old regime is given up even
/// when they do not agree among themselves. Chosen.
constexpr std::size_t kHopelessEdges = 64;
/// Gaps in a row unlike the period that show another regime. A lost cycle makes
/// one such gap, a glitch two: with a tenth of each, 16 are eight damaged
/// cycles in a row, twice in a million, and these hardly ever agree.
constexpr std::size_t kRegimeGaps = 16;
/// Periods this close to the running one, as a fraction, are the same regime.
constexpr double kSamePeriod = 0.15;
/// And these that jitter explains, in standard deviations.
constexpr double kGapSigmas = 3.0;

/// Gaps in a row that are equal show another regime sooner: damage hardly ever
/// makes a few. Chosen.
constexpr std::size_t kEqualGaps = 8;
/// Of half a period and less: damage makes two a glitch. Five in a row at one
/// place are 1e-5 with a tenth of glitches, times a sixth for each place.
constexpr std::size_t kEqualParts = 10;
constexpr double kPart = 0.6;
/// Of two periods: with a third of cycles lost, one gap in 4.5 is such. Twelve
/// in a row come once in 7e7 edges.
constexpr std::size_t kEqualDoubles = 12;
/// Gaps are equal within this fraction, or a window, or what jitter explains
/// but no more than the second.
constexpr double kEqual = 0.15, kEqualJitter = 0.25;
/// A window is not more than this fraction: gaps of one and two samples would
/// all be equal.
constexpr double kEqualWindow = 0.3;
/// Their mean is as well as the period for less; chosen: above the drift that
/// a line over a few tens of edges follows.
constexpr double kSameMean = 0.02;
/// The mean of sixteen is this near the period of a line that follows. Chosen:
/// five standard deviations of it with edges of 12 % rms.
constexpr double kFollowed = 0.05;

/// Whether the gaps agree with each other.
bool gaps_agree(const std::vector<double>& gaps) {
  constexpr double kShare = 0.75, kBand = 0.25;
  const double typical = median(gaps);
  const auto agreeing = std::count_if(gaps.begin(), gaps.end(), [&](double g) {
    return std::abs(g - typical) <= kBand * typical;
  });
  return static_cast<double>(agreeing) >=
         kShare * static_cast<double>(gaps.size());
}

double mean(const std::vector<double>& gaps) {
  double sum = 0.0;
  for (const double g : gaps) sum += g;
  return sum / static_cast<double>(gaps.size());
}

/// Whether all gaps are one gap, but for sampling and jitter.
bool gaps_equal(const std::vector<double>& gaps, const RegimeNow& now) {
  const auto [least, most] = std::minmax_element(gaps.begin(), gaps.end());
  const double gap = mean(gaps);
  // A gap has the jitter of two edges, to either side.
  const double jitter = 2.0 * kGapSigmas * std::sqrt(2.0) * now.scatter;
  const double band =
      std::max({kEqual * gap, std::min(now.window, kEqualWindow * gap),
                std::min(jitter, kEqualJitter * gap)});
  return *most - *least <= band;
}

/// How many equal gaps show another regime.
std::size_t gaps_asked(double gap, double period) {
  if (gap < kPart * period) return kEqualParts;
  if (std::abs(gap - 2.0 * period) < kSamePeriod * period) return kEqualDoubles;
  return kEqualGaps;
}

}  // namespace

void RegimeWatch::left_out(std::size_t index) {
  if (!first_) first_ = index;
}

void RegimeWatch::fits() {
  first_.reset();
  odd_.reset();
  odd_gaps_.clear();
}

void RegimeWatch::rise(std::int64_t tick, std::size_t index, bool left_out) {
  if (left_out) {
    if (odd_) odd_gaps_.push_back(static_cast<double>(tick - *odd_));
    odd_ = tick;
  }
  rises_.push_back({tick, index, left_out});
  if (rises_.size() > kRegimeGaps + 1) rises_.pop_front();
}

void RegimeWatch::clear() {
  fits();
  rises_.clear();
}

/// In: n below the number of rises kept.
std::vector<double> RegimeWatch::last_gaps(std::size_t n) const {
  std::vector<double> gaps(n);
  for (std::size_t i = 0; i < n; ++i) {
    const std::size_t at = rises_.size() - n + i;
    gaps[i] = static_cast<double>(rises_[at].tick - rises_[at - 1].tick);
  }
  return gaps;
}

/// Index of a change where equal gaps about the period begin that are
/// another's: half of their edges do not fit, or as many as show any regime
/// have a mean that no line followed.
std::optional<std::size_t> RegimeWatch::near_gaps(const RegimeNow& now) const {
  const auto odd = [](const Rise& r) { return r.left_out; };
  const auto last = rises_.end() - static_cast<std::ptrdiff_t>(kEqualGaps);
  const auto count = std::count_if(last, rises_.end(), odd);
  if (2 * static_cast<std::size_t>(count) >= kEqualGaps) {
    // Gaps so near the period are equal to those before them too.
    return std::find_if(last, rises_.end(), odd)->index;
  }
  if (rises_.size() <= kRegimeGaps) return std::nullopt;
  const std::vector<double> gaps = last_gaps(kRegimeGaps);
  const double off = std::abs(mean(gaps) - now.period);
  if (off <= kFollowed * now.period || !gaps_equal(gaps, now)) {
    return std::nullopt;
  }
  return rises_[1].index;
}

/// Index of the first change after the first of equal gaps that are another's.
std::optional<std::size_t> RegimeWatch::equal_gaps(const RegimeNow& now) const {
  if (rises_.size() <= kEqualGaps) return std::nullopt;
  const std::vector<double> gaps = last_gaps(kEqualGaps);
  const double off = std::abs(mean(gaps) - now.period);
  if (off <= kSameMean * now.period || !gaps_equal(gaps, now)) {
    return std::nullopt;
  }
  const std::size_t asked = gaps_asked(mean(gaps), now.period);
  if (rises_.size() <= asked) return std::nullopt;
  if (off <= kSamePeriod * now.period) return near_gaps(now);
  if (asked > kEqualGaps && !gaps_equal(last_gaps(asked), now)) {
    return std::nullopt;
  }
  return rises_[rises_.size() - asked].index;
}

/// Whether the last gaps agree among themselves but not with the period.
bool RegimeWatch::other_gaps(const RegimeNow& now) const {
  if (rises_.size() <= kRegimeGaps) return false;
  const double jitter = kGapSigmas * std::sqrt(2.0) * now.scatter;
  const double band =
      std::min(std::max({kSamePeriod * now.period, 2.0 * now.window, jitter}),
               kRawResidual * now.period);
  const std::vector<double> gaps = last_gaps(kRegimeGaps);
  for (const double gap : gaps) {
    if (std::abs(gap - now.period) <= band) return false;
  }
  return gaps_agree(gaps);
}

std::optional<std::size_t> RegimeWatch::change(const RegimeNow& now) const {
  const std::size_t odd = odd_ ? odd_gaps_.size() + 1 : 0;
  if (odd >= kRegimeEdges && (odd >= kHopelessEdges || gaps_agree(odd_gaps_))) {
    return first_;
  }
  if (const auto begin = equal_gaps(now)) return begin;
  if (other_gaps(now)) return rises_[1].index;
  return std::nullopt;
}

}  // namespace clockassay
