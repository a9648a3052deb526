// SPDX-License-Identifier: GPL-3.0-or-later
#include "estimate/place_score.h"

#include <algorithm>
#include <cmath>

#include "estimate/interval_probability.h"

namespace clockassay {
namespace {

/// Edges this many sigma beyond the window, or inside both its ends: the one
/// says no more than that, the other nothing (1e-15).
constexpr double kFurthest = 8.0;
/// Chosen: neighbouring scores then differ by 1/128 at most.
constexpr double kPerSigma = 128.0;

std::int64_t in_units(double value) {
  return std::llround(value * static_cast<double>(kScoreUnits));
}

/// Derivative of ln L by the line's place, times sigma, of an edge whose
/// window, so long, begins `beyond` after the line. All in sigma.
double score_at(double beyond, double window) {
  const IntervalProbability p = interval_probability(beyond, beyond + window);
  return p.low - p.high;
}

/// Variance of that over all the windows in which the edge may be seen, the
/// line being so far from where two of them meet.
double information_at(double distance, double window) {
  double sum = 0.0;
  const double most = std::ceil(kFurthest / window) + 1.0;
  for (double i = -most; i <= most; i += 1.0) {
    const double low = i * window - distance;
    if (low > kFurthest || low + window < -kFurthest) continue;
    const double score = score_at(low, window);
    sum +=
        std::exp(interval_probability(low, low + window).log) * score * score;
  }
  return std::min(sum, 1.0);
}

std::size_t row(double distance) {
  return static_cast<std::size_t>(distance * kPerSigma + 0.5);
}

}  // namespace

PlaceScore PlaceScore::of_exact(double rms) {
  PlaceScore s;
  s.inverse_ = rms > 0.0 ? 1.0 / rms : 0.0;
  return s;
}

PlaceScore PlaceScore::of_windows(double window, double sigma) {
  PlaceScore s;
  s.inverse_ = 1.0 / sigma;
  s.window_ = window / sigma;
  s.inside_ = std::min(kFurthest, 0.5 * s.window_);
  for (std::size_t i = 0; i <= row(kFurthest + s.inside_); ++i) {
    const double beyond = static_cast<double>(i) / kPerSigma - s.inside_;
    s.score_.push_back(in_units(score_at(beyond, s.window_)));
  }
  for (std::size_t i = 0; i <= row(s.inside_); ++i) {
    const double distance = static_cast<double>(i) / kPerSigma;
    s.information_.push_back(in_units(information_at(distance, s.window_)));
  }
  return s;
}

EdgeScore PlaceScore::operator()(double offset) const {
  const double at = offset * inverse_;
  if (window_ == 0.0) {
    return {in_units(std::clamp(at, -kFurthest, kFurthest)), kScoreUnits};
  }
  EdgeScore s;
  const double middle = at - 0.5 * window_;
  const double beyond = std::min(std::abs(middle) - 0.5 * window_, kFurthest);
  if (beyond >= -inside_) {
    const std::int64_t score = score_[row(beyond + inside_)];
    s.score = middle < 0.0 ? -score : score;
  }
  const double past = at - std::floor(at / window_) * window_;
  const double distance = std::min(past, std::abs(window_ - past));
  if (distance <= inside_) s.information = information_[row(distance)];
  return s;
}

}  // namespace clockassay
