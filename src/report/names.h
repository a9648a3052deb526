// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "clockassay/drift/curve.h"
#include "clockassay/edges/edge_store.h"
#include "clockassay/estimate/frequency_estimate.h"
#include "clockassay/estimate/oscillator_character.h"
#include "clockassay/estimate/stability.h"
#include "clockassay/estimate/tie_spectrum.h"

namespace clockassay {

/// "agrees", "disagrees", "not_applicable".
inline const char* spectral_outcome_name(SpectralOutcome outcome) {
  switch (outcome) {
    case SpectralOutcome::kAgrees:
      return "agrees";
    case SpectralOutcome::kDisagrees:
      return "disagrees";
    case SpectralOutcome::kNotApplicable:
      break;
  }
  return "not_applicable";
}

/// "sine", "triangle", "other", "not_seen".
inline const char* spread_profile_name(SpreadProfile profile) {
  switch (profile) {
    case SpreadProfile::kSine:
      return "sine";
    case SpreadProfile::kTriangle:
      return "triangle";
    case SpreadProfile::kOther:
      return "other";
    case SpreadProfile::kNotSeen:
      break;
  }
  return "not_seen";
}

/// "feasible_set", "likelihood", "least_squares", "interval_only".
inline const char* method_name(EstimateMethod method) {
  switch (method) {
    case EstimateMethod::kFeasibleSet:
      return "feasible_set";
    case EstimateMethod::kLikelihood:
      return "likelihood";
    case EstimateMethod::kLeastSquares:
      return "least_squares";
    case EstimateMethod::kIntervalOnly:
      break;
  }
  return "interval_only";
}

/// "white_pm", "flicker_pm", "white_fm", "flicker_fm", "random_walk_fm".
inline const char* noise_name(NoiseKind noise) {
  switch (noise) {
    case NoiseKind::kWhitePhase:
      return "white_pm";
    case NoiseKind::kFlickerPhase:
      return "flicker_pm";
    case NoiseKind::kWhiteFrequency:
      return "white_fm";
    case NoiseKind::kFlickerFrequency:
      return "flicker_fm";
    case NoiseKind::kWalkFrequency:
      break;
  }
  return "random_walk_fm";
}

/// What came before a stretch: "start", "unknown_level", "stopped",
/// "regime_change", "frequency_step", "settling_time".
inline const char* stretch_break_name(StretchBreak why) {
  switch (why) {
    case StretchBreak::kStart:
      return "start";
    case StretchBreak::kUnknownLevel:
      return "unknown_level";
    case StretchBreak::kStopped:
      return "stopped";
    case StretchBreak::kRegimeChange:
      return "regime_change";
    case StretchBreak::kFrequencyStep:
      return "frequency_step";
    case StretchBreak::kSettlingEnds:
      break;
  }
  return "settling_time";
}

/// Coefficients of drift are told about that.
inline constexpr double kReferenceTemperature = 25.0;

/// "up", "down", "not_stated".
inline const char* sweep_name(Sweep sweep) {
  switch (sweep) {
    case Sweep::kUp:
      return "up";
    case Sweep::kDown:
      return "down";
    case Sweep::kNotStated:
      break;
  }
  return "not_stated";
}

/// "as_stated", "too_large", "estimated".
inline const char* scatter_name(Scatter scatter) {
  switch (scatter) {
    case Scatter::kAsStated:
      return "as_stated";
    case Scatter::kTooLarge:
      return "too_large";
    case Scatter::kEstimated:
      break;
  }
  return "estimated";
}

/// As the JSON result names them.
inline const char* character_name(CharacterKind kind) {
  switch (kind) {
    case CharacterKind::kCrystalLike:
      return "crystal_like";
    case CharacterKind::kRcLike:
      return "rc_like";
    case CharacterKind::kPllWithSpur:
      return "pll_with_spur";
    case CharacterKind::kSpreadSpectrum:
      return "spread_spectrum";
    case CharacterKind::kSlewing:
      return "slewing";
    case CharacterKind::kCannotTell:
      break;
  }
  return "cannot_tell";
}

}  // namespace clockassay
