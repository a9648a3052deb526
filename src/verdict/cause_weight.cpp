// SPDX-License-Identifier: GPL-3.0-or-later
#include "verdict/cause_weight.h"

#include <algorithm>
#include <cmath>
#include <numbers>

namespace clockassay {
namespace {

double normal_density(double x, double sigma) {
  const double z = x / sigma;
  return std::exp(-0.5 * z * z) / (sigma * std::sqrt(2.0 * std::numbers::pi));
}

// What is not known of the measured figure widens what it is held against.
double widened(double sigma, const MeasuredError& error) {
  constexpr double kStandardOfExpanded = 0.5;
  return std::hypot(sigma, kStandardOfExpanded * error.expanded_ppm);
}

// How far the mean may be off where a spread puts it: half of what is not known
// of the depth, at 95 %, too.
double spread_window_ppm(const SpreadSpectrum& spread,
                         const MeasuredError& error, double make_ppm) {
  return error.expanded_ppm + make_ppm + spread.depth_uncertainty.value();
}

}  // namespace

double usual_share(CauseCode code) {
  switch (code) {
    case CauseCode::kOtherSource:
    case CauseCode::kCrystalOff:
    case CauseCode::kSourceOff:
      return 0.2;
    case CauseCode::kOffByOne:
      return 0.12;
    case CauseCode::kFactorMissing:
      return 0.08;
    case CauseCode::kPathHalved:
    case CauseCode::kOtherCrystal:
      return 0.06;
    case CauseCode::kRcOscillator:
    case CauseCode::kOutputAlone:
      return 0.05;
    case CauseCode::kPathDoubled:
    case CauseCode::kWrongSampleRate:
      return 0.04;
    case CauseCode::kNotLocked:
    case CauseCode::kSpreadSpectrum:
    case CauseCode::kPrescaler:
    case CauseCode::kOtherFactor:
    case CauseCode::kOtherChannel:
      return 0.03;
    case CauseCode::kAliased:
    case CauseCode::kFactorTwice:
    case CauseCode::kOtherSourceAndPath:
    case CauseCode::kLoopOnWatchCrystal:
    case CauseCode::kNumberMixedUp:
    case CauseCode::kOvertone:
    case CauseCode::kEdgesMiscounted:
      return 0.02;
    case CauseCode::kSourceNotShared:
    case CauseCode::kSamplesLost:
      return 0.01;
    // By timebase_share(), or never weighed: they explain no frequency.
    case CauseCode::kTimebaseOff:
    case CauseCode::kPulsesSwallowed:
    case CauseCode::kPartTooLoose:
    case CauseCode::kDivisorOff:
    case CauseCode::kSetUpTooTight:
    case CauseCode::kUnitMissing:
    case CauseCode::kPinNotDriven:
    case CauseCode::kSourceStopped:
    case CauseCode::kSourceSwitched:
      break;
  }
  return 0.0;
}

double timebase_share(TimebaseKind kind) {
  switch (kind) {
    case TimebaseKind::kAssumed:
      return 0.05;
    case TimebaseKind::kStated:
      return 0.01;
    case TimebaseKind::kCalibrated:
      return 0.003;
    case TimebaseKind::kReference:
      break;
  }
  return 0.001;
}

double window_density(double window_ppm) {
  return 0.5 / window_ppm;
}

double crystal_off_density(const MeasuredError& error, double make_ppm) {
  if (std::abs(error.ppm) > kLoadBoundPpm) return 0.0;
  // Chosen: four in five within what layouts and reels scatter, one in five
  // with a capacitor missing or of another decade.
  constexpr double kScatterPpm = 60.0;
  constexpr double kMistakePpm = 250.0;
  const double usual = std::hypot(kScatterPpm, make_ppm);
  return 0.8 * normal_density(error.ppm, widened(usual, error)) +
         0.19 * normal_density(error.ppm, widened(kMistakePpm, error)) +
         0.01 * window_density(kLoadBoundPpm);
}

double source_off_density(const MeasuredError& error, double make_ppm) {
  return normal_density(error.ppm, widened(make_ppm, error));
}

double timebase_off_density(const MeasuredError& error) {
  // Chosen: what quartz in instruments may come to in a bad case, and what an
  // oscillator without one may.
  constexpr double kBadPpm = 50.0;
  constexpr double kNoQuartzPpm = 300.0;
  return 0.9 * normal_density(error.ppm, widened(kBadPpm, error)) +
         0.1 * normal_density(error.ppm, widened(kNoQuartzPpm, error));
}

double anywhere_density(double error_ppm, double reach_ppm) {
  return std::abs(error_ppm) <= reach_ppm ? window_density(reach_ppm) : 0.0;
}

SpreadPlace spread_place(const SpreadSpectrum& spread,
                         const MeasuredError& error, double make_ppm) {
  const double window = spread_window_ppm(spread, error, make_ppm);
  const double below = 0.5 * spread.depth.value();
  // Of a spread so narrow that it may be either, what is nearer.
  const bool is_down = std::abs(error.ppm + below) <= window;
  const bool is_centre = std::abs(error.ppm) <= window;
  if (is_down && (!is_centre || error.ppm < -0.5 * below)) {
    return SpreadPlace::kDown;
  }
  return is_centre ? SpreadPlace::kCentre : SpreadPlace::kOther;
}

double spread_density(const SpreadSpectrum& spread, const MeasuredError& error,
                      double make_ppm) {
  // Chosen: most clocks that are spread are so downwards.
  constexpr double kDown = 0.6;
  constexpr double kCentre = 0.3;
  const double usual =
      window_density(spread_window_ppm(spread, error, make_ppm));
  switch (spread_place(spread, error, make_ppm)) {
    case SpreadPlace::kDown:
      return kDown * usual;
    case SpreadPlace::kCentre:
      return kCentre * usual;
    case SpreadPlace::kOther:
      break;
  }
  return (1.0 - kDown - kCentre) * anywhere_density(error.ppm, kSpreadReachPpm);
}

double make_ppm(const ClockSpec& clock) {
  return std::max(std::abs(clock.tolerance.make.low_ppm.to_double()),
                  std::abs(clock.tolerance.make.high_ppm.to_double()));
}

double unknown_weight() {
  // One in twenty, anywhere from a hundredth to a hundred times the clock:
  // 9.2 in its logarithm.
  constexpr double kShare = 0.05;
  constexpr double kReachPpm = 4.6e6;
  return kShare * window_density(kReachPpm);
}

}  // namespace clockassay
