// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <cstdint>
#include <optional>
#include <string>

#include "clockassay/base/quantity_text.h"
#include "clockassay/base/rational.h"
#include "clockassay/base/units.h"
#include "clockassay/estimate/sampling_phase.h"
#include "clockassay/oscillator/clock_path.h"
#include "clockassay/plan/capture_width.h"
#include "clockassay/uncertainty/timebase.h"

namespace clockassay {

struct CapturePlanInput {
  ClockPath expect;
  ToleranceBand tolerance;
  Timebase timebase = {};
  /// A known clock on another channel; it takes the place of the timebase.
  std::optional<Ppm> reference_tolerance = {};
  Rational sample_rate_hz = Rational(1);
  std::optional<Seconds> jitter = {};    ///< rms of an edge; absent: none
  std::optional<Seconds> duration = {};  ///< absent: as long as it takes
  double coverage = 0.95;
};

/// What keeps U from being smaller, or anything from being decided.
enum class CaptureLimit {
  kTimebase,
  kReference,
  kSampling,
  kJitter,
  kSampleRate,  ///< fewer than three samples a period
  kAliasing,    ///< another clock of the path would look the same
  kDuration,    ///< too few cycles for a frequency
};

/// "timebase", "sampling" …
const char* capture_limit_name(CaptureLimit limit);

/// A clock that would be taken for the expected one.
struct AliasDanger {
  std::string who;
  Rational frequency_hz;
  Rational seen_hz;
  bool always = false;  ///< whatever the clock is off by within its tolerance
  std::optional<Rational> telling_rate_hz;
};

/// What would decide, or decide better: the clock in the middle of its limits
/// and U brought down to a quarter of their width.
struct CaptureCures {
  std::optional<Ppm> timebase;
  std::optional<Ppm> calibration;  ///< of a clock to measure it with before
  std::optional<Ppm> reference;    ///< of a clock in the same capture
};

/// What the file and the instrument have to hold.
struct CaptureSize {
  double samples = 0.0;  ///< a channel: memory depth
  double level_changes = 0.0;
  double csv_changes_bytes = 0.0;  ///< a row a change
  double csv_samples_bytes = 0.0;  ///< a row a sample
  double vcd_bytes = 0.0;
};

struct CapturePlan {
  CapturePlanInput input;
  bool decidable = false;  ///< U below half of the width of the limits
  CaptureLimit limited_by = CaptureLimit::kTimebase;
  Seconds duration;
  CaptureWidth width;
  Ppm capture_U{0.0};    ///< what the capture alone leaves, at the coverage
  Ppm timebase_U{0.0};   ///< what the timebase alone leaves
  Ppm expanded{0.0};     ///< U
  double low_ppm = 0.0;  ///< the limits
  double high_ppm = 0.0;
  /// The shortest duration with which U is below the limits; absent: none.
  std::optional<Seconds> shortest = {};
  CaptureCures cures;
  double samples_per_period = 0.0;
  /// Half-width of the duty by one period, and by the mean of all, at worst.
  double duty_by_one = 0.0;
  double duty_by_mean = 0.0;
  std::optional<FewPhases> few_phases = {};  ///< of the expected frequency
  /// A rate instruments have at which sampling leaves half or less, where it
  /// counts; and what it would leave.
  std::optional<Rational> better_rate_hz = {};
  std::optional<Ppm> better_half_width = {};
  std::optional<AliasDanger> alias = {};
  /// Where the expected clock would be seen; above half the sample rate only.
  std::optional<Rational> seen_hz = {};
  /// The slowest rate that is enough, where this one is not.
  std::optional<Rational> needed_rate_hz = {};
  CaptureSize size;
};

/// Measured errors that pass and fail: e + U <= high and so on; and true errors
/// of which that is sure at the coverage, 2 U from the limits. Absent: none.
struct DecisionZone {
  double low_ppm = 0.0;
  double high_ppm = 0.0;
};
std::optional<DecisionZone> passing_zone(const CapturePlan& plan, double u);
DecisionZone failing_beyond(const CapturePlan& plan, double u);

/// Whether a capture can decide a question, before it is made.
/// Model:  U of a rectangle ±a (timebase or reference) and the normal part of
///         foresee_width(), over all that the clock may be off by within its
///         tolerance and the timebase; a reference leaves as much again
/// Source: docs/plan.md#capture
CapturePlan plan_capture(const CapturePlanInput& input);

}  // namespace clockassay
