// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <optional>
#include <string>
#include <vector>

#include "clockassay/base/units.h"

namespace clockassay {

/// What kind of thing went wrong, for scripts. docs/verdict.md#causes says of
/// each what it means and what the capture shows then.
enum class CauseCode {
  // Another source than the expected one.
  kOtherSource,         ///< one that was named as a suspect
  kOtherSourceAndPath,  ///< that, and a slip of the path as well
  kOtherCrystal,        ///< a usual value nobody named
  kRcOscillator,        ///< an RC or ceramic oscillator nobody named
  kSourceOff,  ///< as expected, but further off than specified; no crystal
  kLoopOnWatchCrystal,  ///< a loop locked to whole multiples of 32.768 kHz
  kNumberMixedUp,       ///< 1000/1024, 1000/1001, audio or baud-rate family
  // The path from the source to the pin.
  kOffByOne,
  kFactorMissing,
  kFactorTwice,
  kPathDoubled,
  kPathHalved,
  kOtherFactor,      ///< some other whole number than intended
  kPrescaler,        ///< a power of two beyond that
  kNotLocked,        ///< a PLL that runs without its lock
  kSpreadSpectrum,   ///< left on where none is expected
  kOutputAlone,      ///< only this output is off: the fault is behind the split
  kSourceNotShared,  ///< outputs that are taken for those of one source
  // The crystal and what it is soldered to.
  kCrystalOff,    ///< by its load, or the part itself
  kOvertone,      ///< on its fundamental, or on its overtone
  kPartTooLoose,  ///< as specified, and something asks for more
  // What a requirement is set up with.
  kDivisorOff,     ///< a divisor that makes no such bit rate
  kSetUpTooTight,  ///< leaves less than the source is specified to
  // The capture.
  kAliased,
  kWrongSampleRate,  ///< rate or unit of time of the file are not the real ones
  kSamplesLost,
  kEdgesMiscounted,  ///< glitches or missed edges, one polarity left out
  kPulsesSwallowed,  ///< by a gate, a divider of two ratios, a calibration
  kTimebaseOff,      ///< the capturing instrument's own clock
  kUnitMissing,      ///< what is expected was meant in another unit
  // No clock there.
  kOtherChannel,
  kPinNotDriven,
  kSourceStopped,
  kSourceSwitched,  ///< it ran at another frequency before
};

/// As JSON holds it: "other_source", "off_by_one", …
const char* cause_code_name(CauseCode code);

/// A hypothesis why the clock is not what was expected.
struct Cause {
  CauseCode code = CauseCode::kOtherSource;
  std::string cause;              ///< in words
  std::string ratio;              ///< measured / intended: "2/3", or ""
  std::optional<Hertz> expected;  ///< what the pin would show if true
  std::optional<Ppm> residual;    ///< measured against that
  std::vector<std::string> evidence;
  std::string if_true;  ///< what else should be seen then
  std::string advice;
  std::string settled_by;
  int rank = 0;  ///< 1 is the best; equal ranks: ambiguous
};

}  // namespace clockassay
