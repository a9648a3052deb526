// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <array>
#include <optional>
#include <span>

namespace clockassay {

/// Noise of the edges' places beside white jitter.
enum class Noise {
  kShortMemory,       ///< of the places, each by itself
  kFlickerPhase,      ///< with memories of up to four views
  kWhiteFrequency,    ///< the phase walks
  kFlickerFrequency,  ///< with memories of up to four views
  kWalkFrequency,     ///< the slope is the frequency at the beginning
};
inline constexpr std::array kAllNoise = {
    Noise::kShortMemory, Noise::kFlickerPhase, Noise::kWhiteFrequency,
    Noise::kFlickerFrequency, Noise::kWalkFrequency};
/// Of a few periods: frequencies hardly wander within them.
inline constexpr std::array kQuickNoise = {Noise::kShortMemory,
                                           Noise::kWhiteFrequency};

/// Where some neighbouring edges of one polarity lie, on average, off a line.
struct EdgePlace {
  double time = 0.0;  ///< 0 … 1 over the view
  bool fall = false;
  double place = 0.0;
  /// 1/variance of the place, were the jitter white; 0: nothing is known.
  double weight = 0.0;
};

/// What tells how far the weights are right: squares of what is left within the
/// places, with their weights, and how many degrees of freedom they have. Their
/// quotient is the factor that the variances want. 0 and 0: not known.
struct WithinPlaces {
  double squares = 0.0;
  double dof = 0.0;
};

/// Half-width at 95 % of the slope of the weighted line through the places, per
/// view, whatever the noise; absent with fewer than three places more than the
/// line needs.
/// Model:  place = intercept(polarity) + slope time + white jitter + noise of
///         one of the kinds. Kind and amplitude are unknown; each counts by the
///         likelihood of the places about their line (restricted likelihood),
///         and |T| of Student's distribution beyond U/s(kind, amplitude) has
///         5 % in all.
/// In:     width > 0  of time that the edges of a place are spread over
/// Source: docs/measurement-model.md#scatter
std::optional<double> noise_half_width(std::span<const EdgePlace> places,
                                       double width, const WithinPlaces& within,
                                       std::span<const Noise> kinds);

}  // namespace clockassay
