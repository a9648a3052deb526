// SPDX-License-Identifier: GPL-3.0-or-later
#include "clockassay/verdict/cause.h"

namespace clockassay {

const char* cause_code_name(CauseCode code) {
  switch (code) {
    case CauseCode::kOtherSource:
      return "other_source";
    case CauseCode::kOtherSourceAndPath:
      return "other_source_and_path";
    case CauseCode::kOtherCrystal:
      return "other_crystal";
    case CauseCode::kRcOscillator:
      return "rc_oscillator";
    case CauseCode::kSourceOff:
      return "source_off";
    case CauseCode::kLoopOnWatchCrystal:
      return "loop_on_watch_crystal";
    case CauseCode::kNumberMixedUp:
      return "number_mixed_up";
    case CauseCode::kOffByOne:
      return "off_by_one";
    case CauseCode::kFactorMissing:
      return "factor_missing";
    case CauseCode::kFactorTwice:
      return "factor_twice";
    case CauseCode::kPathDoubled:
      return "path_doubled";
    case CauseCode::kPathHalved:
      return "path_halved";
    case CauseCode::kOtherFactor:
      return "other_factor";
    case CauseCode::kPrescaler:
      return "prescaler";
    case CauseCode::kNotLocked:
      return "not_locked";
    case CauseCode::kSpreadSpectrum:
      return "spread_spectrum";
    case CauseCode::kOutputAlone:
      return "output_alone";
    case CauseCode::kSourceNotShared:
      return "source_not_shared";
    case CauseCode::kCrystalOff:
      return "crystal_off";
    case CauseCode::kOvertone:
      return "overtone";
    case CauseCode::kPartTooLoose:
      return "part_too_loose";
    case CauseCode::kDivisorOff:
      return "divisor_off";
    case CauseCode::kSetUpTooTight:
      return "set_up_too_tight";
    case CauseCode::kAliased:
      return "aliased";
    case CauseCode::kWrongSampleRate:
      return "wrong_sample_rate";
    case CauseCode::kSamplesLost:
      return "samples_lost";
    case CauseCode::kEdgesMiscounted:
      return "edges_miscounted";
    case CauseCode::kPulsesSwallowed:
      return "pulses_swallowed";
    case CauseCode::kTimebaseOff:
      return "timebase_off";
    case CauseCode::kUnitMissing:
      return "unit_missing";
    case CauseCode::kOtherChannel:
      return "other_channel";
    case CauseCode::kPinNotDriven:
      return "pin_not_driven";
    case CauseCode::kSourceStopped:
      return "source_stopped";
    case CauseCode::kSourceSwitched:
      return "source_switched";
  }
  return "";
}

}  // namespace clockassay
