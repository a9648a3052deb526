// SPDX-License-Identifier: GPL-3.0-or-later
#include "estimate/polarities.h"

#include <algorithm>
#include <cmath>

#include "clockassay/estimate/edge_line.h"
#include "clockassay/estimate/student_t.h"

namespace clockassay {
namespace {

/// A line through one polarity: its slope, the variance of that by the edges'
/// scatter, and how far sampling may move it.
struct PolarityLine {
  double slope = 0.0;
  double variance = 0.0;
  double dof = 0.0;
  double sampling = 0.0;
};

std::optional<PolarityLine> line_of(const LineSums& sums, double window) {
  constexpr double kEvensOut = 0.6;    // windows rms: docs, Likelihood
  constexpr double kFurthest = 1.5;    // windows: docs, Wander
  constexpr std::int64_t kFewest = 5;  // chosen, as of rising edges
  if (sums.n < kFewest) return std::nullopt;
  const auto fit = fit_line(sums, LineSums{});
  if (!fit || fit->dof < 1) return std::nullopt;
  const auto n = static_cast<double>(sums.n);
  const auto dof = static_cast<double>(fit->dof);
  const double variance = fit->residual_squares / dof;
  const bool even = std::sqrt(variance) > kEvensOut * window;
  return PolarityLine{fit->slope, variance * fit->slope_variance, dof,
                      even ? 0.0 : kFurthest * window / n};
}

/// The largest likelihood of both at a slope, each with its own jitter.
double log_at(const WindowLikelihood& rise, JitterLine rise_from,
              const WindowLikelihood& fall, JitterLine fall_from,
              double slope) {
  rise_from.slope = fall_from.slope = slope;
  return rise.peak_at_slope(rise_from).log + fall.peak_at_slope(fall_from).log;
}

/// The largest such of the slopes between two, by the golden section.
template <class Log>
double largest(double low, double high, const Log& log) {
  constexpr double kGolden = 0.6180339887498949;
  constexpr int kCuts = 12;  // chosen: to 0.003 of the interval
  double a = high - kGolden * (high - low), b = low + kGolden * (high - low);
  double at_a = log(a), at_b = log(b);
  for (int i = 0; i < kCuts; ++i) {
    if (at_a > at_b) {
      high = b;
      b = a;
      at_b = at_a;
      a = high - kGolden * (high - low);
      at_a = log(a);
    } else {
      low = a;
      a = b;
      at_a = at_b;
      b = low + kGolden * (high - low);
      at_b = log(b);
    }
  }
  return std::max(at_a, at_b);
}

}  // namespace

std::optional<PolaritySlopes> differing_lines(const EdgeSums& sums,
                                              double window) {
  const auto rise = line_of(sums.rise, window);
  const auto fall = line_of(sums.fall, window);
  if (!rise || !fall) return std::nullopt;
  const double variance = rise->variance + fall->variance;
  const double dof = variance > 0.0
                         ? variance * variance /
                               (rise->variance * rise->variance / rise->dof +
                                fall->variance * fall->variance / fall->dof)
                         : rise->dof;
  const double limit = student_t_two_sided(1.0 - kPolaritiesByChance, dof) *
                           std::sqrt(variance) +
                       rise->sampling + fall->sampling;
  if (std::abs(rise->slope - fall->slope) <= limit) return std::nullopt;
  return PolaritySlopes{rise->slope, fall->slope};
}

std::optional<PolaritySlopes> differing_peaks(const WindowLikelihood& both,
                                              const LikelihoodPeak& together,
                                              double limit) {
  const WindowLikelihood rise = both.only(Polarity::kRising);
  const WindowLikelihood fall = both.only(Polarity::kFalling);
  const JitterLine& line = together.line;
  const LikelihoodPeak at_rise = rise.peak(line);
  JitterLine fall_line = line;
  fall_line.rise = line.fall;
  const LikelihoodPeak at_fall = fall.peak(fall_line);
  const double apart = at_rise.log + at_fall.log;
  if (2.0 * (apart - together.log) <= limit) return std::nullopt;
  // Part of that may be jitter of another size: only the slope is asked for.
  const double common = largest(
      std::min(at_rise.line.slope, at_fall.line.slope),
      std::max(at_rise.line.slope, at_fall.line.slope),
      [&](double slope) { return log_at(rise, line, fall, fall_line, slope); });
  if (2.0 * (apart - common) <= limit) return std::nullopt;
  return PolaritySlopes{at_rise.line.slope, at_fall.line.slope};
}

}  // namespace clockassay
