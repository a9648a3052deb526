// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <optional>

#include "clockassay/base/quantity_text.h"
#include "clockassay/base/rational.h"
#include "clockassay/base/units.h"
#include "clockassay/estimate/sampling_phase.h"
#include "clockassay/oscillator/clock_path.h"
#include "clockassay/plan/capture_plan_parts.h"
#include "clockassay/plan/capture_width.h"
#include "clockassay/uncertainty/timebase.h"

namespace clockassay {

/// High time over period, of every clock that may be there.
struct DutyRange {
  double low = 0.5;
  double high = 0.5;
};

struct CapturePlanInput {
  ClockPath expect;
  ToleranceBand tolerance;
  Timebase timebase = {};
  /// A known clock on another channel; it takes the place of the timebase.
  std::optional<Ppm> reference_tolerance = {};
  /// Its frequency; absent: whichever has cycles enough.
  std::optional<Rational> reference_hz = {};
  bool reference_assumed = false;  ///< its tolerance: nothing was stated
  Rational sample_rate_hz = Rational(1);
  std::optional<Seconds> jitter = {};    ///< rms of an edge; absent: none
  std::optional<Seconds> duration = {};  ///< absent: as long as it takes
  std::optional<DutyRange> duty = {};    ///< absent: a half is assumed
  double coverage = 0.95;
};

/// What keeps U from being smaller, or anything from being decided.
enum class CaptureLimit {
  kTimebase,
  kReference,
  kSampling,
  kJitter,
  kSampleRate,  ///< too few samples a period, or a pulse; or of the reference
  kAliasing,    ///< another clock of the path would look the same
  kDuration,    ///< too few cycles for a frequency; or of the reference
};

/// "timebase", "sampling" …
const char* capture_limit_name(CaptureLimit limit);

struct CapturePlan {
  CapturePlanInput input;
  /// U is below half of the width of the limits, and nothing forbids a pass
  /// of every clock.
  bool decidable = false;
  CaptureLimit limited_by = CaptureLimit::kTimebase;
  Seconds duration;
  CaptureWidth width;
  Ppm capture_U{0.0};   ///< what the capture alone leaves, at the coverage
  Ppm timebase_U{0.0};  ///< what the timebase alone leaves
  Ppm expanded{0.0};    ///< U
  /// U where the scatter of few or locked edges widens it as it may.
  Ppm at_most{0.0};
  double low_ppm = 0.0;  ///< the limits
  double high_ppm = 0.0;
  DecisionZones zones;
  /// The shortest duration with which U is below the limits; absent: none.
  std::optional<Seconds> shortest = {};
  /// The shortest that leaves as little as `duration` does, by how the clocks
  /// that may be there meet the sampler; absent: stated, or none is shorter.
  std::optional<Seconds> enough = {};
  /// The shortest that mostly decides; absent: no length does, or something
  /// else forbids a pass at any length.
  std::optional<NeededCapture> needed = {};
  bool is_long = false;  ///< so long that the clock moves meanwhile
  bool feasible = true;  ///< no longer than anybody captures: a day
  /// None where rate, alias or jitter forbid a pass at any U.
  CaptureCures cures;
  /// They do, and U is too large as it is.
  bool also_too_large = false;
  double samples_per_period = 0.0;  ///< of the expected clock
  PulseSampling pulses;
  /// Above, fewer captures than the coverage have all periods even and all
  /// pulses; one with an uneven period does not pass.
  Seconds most_jitter{0.0};
  double uneven = 0.0;           ///< part of captures that have one
  bool too_much_jitter = false;  ///< more than half of them
  /// Half-width of the duty by one period, and by the mean of all, at worst.
  double duty_by_one = 0.0;
  double duty_by_mean = 0.0;
  std::optional<FewPhases> few_phases = {};  ///< of the expected frequency
  /// A rate instruments have at which the capture leaves half or less, where
  /// sampling counts; and what it would leave in the place of capture_U.
  std::optional<Rational> better_rate_hz = {};
  std::optional<Ppm> better_U = {};
  /// Where it counts and no usual rate does so: one at which the expected clock
  /// meets the sampler at all phases.
  std::optional<Hertz> even_rate = {};
  std::optional<AliasDanger> alias = {};
  /// Where the expected clock would be seen; above half the sample rate only.
  std::optional<Rational> seen_hz = {};
  /// The slowest usual rate from which on all are enough, up to ten times four
  /// samples a period, where this one is not; else one that is.
  std::optional<Rational> needed_rate_hz = {};
  bool needed_or_faster = false;  ///< those above are enough too
  /// The smallest power of two that divides the clock far enough down for it.
  std::optional<int> needed_divider = {};
  /// The fastest reference that this rate shows; where that stated is faster.
  std::optional<Hertz> fastest_reference = {};
  /// The slowest reference that has edges enough in the capture.
  std::optional<Hertz> slowest_reference = {};
  /// The shortest capture that has edges enough of the reference stated.
  std::optional<Seconds> reference_needs = {};
  bool reference_fails = false;  ///< it is why nothing is decided
  CaptureSize size;

  /// This capture decides, or one of a length that is named does.
  bool length_helps() const { return decidable || needed.has_value(); }
};

/// Whether a capture can decide a question, before it is made.
/// Model:  U of a rectangle ±a (timebase or reference) and the normal part of
///         foresee_width(), over all that the clock may be off by within its
///         tolerance and the timebase; a reference leaves as much again
/// In:     frequencies > 0; 0.5 <= coverage < 1; tolerances, jitter >= 0;
///         duration > 0; 0 < duty < 1
/// Errors: none: what decides nothing says so
/// Cost:   some thousand simplest fractions, below a second
/// Source: docs/plan.md#capture
CapturePlan plan_capture(const CapturePlanInput& input);

}  // namespace clockassay
