// SPDX-License-Identifier: GPL-3.0-or-later
#include "edges/cycle_predictor.h"

#include <algorithm>
#include <cmath>
#include <vector>

#include "edges/median.h"

namespace clockassay {
namespace {

/// Edges the recursive line remembers. Chosen: long against the sampling
/// error, short against drift.
constexpr int kMemory = 32;
/// Gaps looked at for a first period, and how many in a row must agree.
/// Chosen by simulation with 10 % lost cycles and 10 % glitches.
constexpr std::size_t kBootstrapGaps = 64;
constexpr std::size_t kAgreeingGaps = 5;
/// Gaps within this fraction of the median agree with it.
constexpr double kGapTolerance = 0.25;
/// An edge further than this fraction of a period off cannot be told from one
/// of the neighbouring cycle.
constexpr double kHardTolerance = 0.45;

/// Median high time: first falling edge after each rising one, where it comes
/// within the period.
double median_high(std::span<const std::int64_t> rise,
                   std::span<const std::int64_t> fall, double period) {
  std::vector<double> highs;
  for (std::int64_t r : rise) {
    const auto f = std::upper_bound(fall.begin(), fall.end(), r);
    if (f == fall.end()) break;
    const auto high = static_cast<double>(*f - r);
    if (high < period) highs.push_back(high);
  }
  return highs.empty() ? 0.5 * period : median(std::move(highs));
}

/// Half-width within which gaps agree with their median: six standard
/// deviations by the median deviation, at least what sampling makes, at most
/// kGapTolerance, since a glitch leaves gaps of up to a whole period.
double agreement_band(const std::vector<double>& gaps, double typical,
                      double window) {
  constexpr double kMadToSigma = 1.4826;  // for a normal distribution
  std::vector<double> deviations;
  for (double g : gaps) deviations.push_back(std::abs(g - typical));
  const double wide = 6.0 * kMadToSigma * median(std::move(deviations));
  const double sampling = 2.0 * window;
  return std::max(std::min(std::max(wide, sampling), kGapTolerance * typical),
                  window);
}

}  // namespace

CyclePredictor::CyclePredictor(std::int64_t cycle, Ticks tick, double period,
                               double high, double scatter, int memory)
    : cycle_(cycle),
      tick_(tick),
      period_(period),
      high_(high),
      variance_(scatter * scatter),
      memory_(std::min(memory, kMemory)) {}

CyclePredictor::Match CyclePredictor::match(bool rising, Ticks tick) const {
  const double since = static_cast<double>((tick - tick_).count()) - offset_ -
                       (rising ? 0.0 : high_);
  const double n = std::round(since / period_);
  return {cycle_ + static_cast<std::int64_t>(n), since - n * period_};
}

double CyclePredictor::tolerance(double window) const {
  // Two windows: the edge's own and the line's. Six sigma: with a million
  // edges none is rejected by chance.
  const double wanted = std::max(2.0 * window, 6.0 * std::sqrt(variance_));
  return std::min(wanted, kHardTolerance * period_);
}

void CyclePredictor::accept(bool rising, Ticks tick, const Match& m) {
  const double n = memory_;
  // Gains of the recursive least-squares line over n + 1 equidistant points.
  const double phase_gain = 2.0 * (2.0 * n + 1.0) / ((n + 1.0) * (n + 2.0));
  const double period_gain = 6.0 / ((n + 1.0) * (n + 2.0));
  variance_ += (m.error * m.error - variance_) / (n + 1.0);
  if (!rising) {
    high_ += phase_gain * m.error;
    return;
  }
  const auto steps =
      static_cast<double>(std::max<std::int64_t>(1, m.cycle - cycle_));
  offset_ = -(1.0 - phase_gain) * m.error;
  period_ += period_gain * m.error / steps;
  cycle_ = m.cycle;
  tick_ = tick;
  memory_ = std::min(memory_ + 1, kMemory);
}

std::optional<Bootstrap> bootstrap_predictor(std::span<const std::int64_t> rise,
                                             std::span<const std::int64_t> fall,
                                             Ticks base, double window) {
  if (rise.size() < 2) return std::nullopt;
  for (std::size_t begin = 0; begin + 1 < rise.size();
       begin += kBootstrapGaps) {
    const std::size_t end = std::min(rise.size() - 1, begin + kBootstrapGaps);
    std::vector<double> gaps;
    for (std::size_t i = begin; i < end; ++i) {
      gaps.push_back(static_cast<double>(rise[i + 1] - rise[i]));
    }
    const double typical = median(gaps);
    const double band = agreement_band(gaps, typical, window);
    double sum = 0.0, squares = 0.0;
    std::size_t agreeing = 0, in_a_row = 0;
    std::optional<std::size_t> anchor;
    for (std::size_t i = 0; i < gaps.size(); ++i) {
      const bool agrees = std::abs(gaps[i] - typical) <= band;
      in_a_row = agrees ? in_a_row + 1 : 0;
      if (agrees) {
        const double d = gaps[i] - typical;
        sum += d;
        squares += d * d;
        ++agreeing;
      }
      if (!anchor && in_a_row == kAgreeingGaps) {
        anchor = begin + i + 1 - kAgreeingGaps;
      }
    }
    if (!anchor) continue;
    const auto n = static_cast<double>(agreeing);
    const double period = typical + sum / n;
    // A gap has the scatter of two edges.
    const double scatter =
        std::sqrt(std::max(0.0, squares / n - (sum / n) * (sum / n)) / 2.0);
    return Bootstrap{*anchor,
                     CyclePredictor(0, base + Ticks(rise[*anchor]), period,
                                    median_high(rise, fall, period), scatter,
                                    static_cast<int>(agreeing))};
  }
  return std::nullopt;
}

}  // namespace clockassay
