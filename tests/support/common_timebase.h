// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <cstdint>
#include <functional>
#include <random>

#include "support/test_stretch.h"

namespace clockassay {

/// What the rate of an instrument does while it captures.
enum class TimebaseCourse {
  kSteady,
  kLinear,     ///< the rate drifts
  kQuadratic,  ///< the drift itself does
  kSlowSine,   ///< 2.7 turns of the rate
  kFastSine,   ///< 300 turns
  kWalk,       ///< its phase walks at random: white noise of the rate
};
inline constexpr const char* kTimebaseCourses[] = {
    "steady", "linear", "quadratic", "slow sine", "fast sine", "walk"};

/// By how many samples an instrument's time is off at a true time of as many
/// samples, over a capture of `length`; at most about `size`.
std::function<double(double)> time_error(TimebaseCourse course, double length,
                                         double size, std::mt19937_64& random);

/// A clock as that instrument sees it: edges of true period `period` [samples]
/// from 0 to `length`, with white jitter of rms `sigma`, at
/// n = ceil(t + error(t) + jitter).
struct SeenClock {
  double period = 40.0;
  double duty = 0.5;
  double sigma = 0.0;
};
SampledEdges see_clock(const SeenClock& clock, double length,
                       const std::function<double(double)>& error,
                       std::mt19937_64& random);

}  // namespace clockassay
