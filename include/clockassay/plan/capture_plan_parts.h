// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <optional>
#include <string>

#include "clockassay/base/rational.h"
#include "clockassay/base/units.h"

// What a plan of a capture is made of.
namespace clockassay {

/// A clock that would be taken for the expected one.
struct AliasDanger {
  std::string who;
  Rational frequency_hz;
  Rational seen_hz;
  bool always = false;  ///< whatever the clock is off by within its tolerance
  std::optional<Rational> telling_rate_hz;
};

/// What brings U down to a quarter of the width of the limits: what is named,
/// together. With capture_alone either the capture or the timebase.
struct CaptureCures {
  std::optional<Seconds> duration;
  std::optional<Hertz> sample_rate;  ///< in the place of the duration
  bool capture_alone = false;        ///< the timebase may stay as it is
  std::optional<Ppm> timebase;       ///< or the reference's, where there is one
  std::optional<Ppm> calibration;    ///< of a clock to measure it with before
  std::optional<Ppm> reference;      ///< of a clock in the same capture
  /// Nothing of these: more than half of captures that are long enough have a
  /// period that is off, by the jitter stated.
  bool less_jitter = false;
};

/// How the fastest clock that anything is promised of is sampled.
struct PulseSampling {
  double samples_per_period = 0.0;
  double shorter_half = 0.0;  ///< high or low, by the duty [samples]
  /// No clock of these shows only pulses one sample long, at least three
  /// samples a period.
  bool told = false;
};

/// Errors of which something is said. Of one that fails: beyond.
struct DecisionZone {
  double low_ppm = 0.0;
  double high_ppm = 0.0;
};

/// Of a measured error: passes where e + U <= high and so on; fails are there
/// too where U is too large for any pass. Of the clock's own, where that is
/// sure at the coverage: what is measured may be off by U, and U as large as
/// `at_most`. Absent: nowhere.
struct DecisionZones {
  std::optional<DecisionZone> passes;
  std::optional<DecisionZone> sure_pass;
  /// Of the clock's own error: at the coverage what is measured is within
  /// `passes`, if the capture leaves no more than is foreseen.
  std::optional<DecisionZone> likely_pass;
  std::optional<DecisionZone> fails;
  std::optional<DecisionZone> sure_fail;
  /// Slower clocks show too few cycles, faster ones too few samples: they do
  /// not pass, and may not fail. With sure_fail.
  Hertz fails_from{0.0};
  Hertz fails_to{0.0};
};

/// What the file and the instrument have to hold.
struct CaptureSize {
  double samples = 0.0;  ///< a channel: memory depth
  double level_changes = 0.0;
  double csv_changes_bytes = 0.0;  ///< a row a change
  double csv_samples_bytes = 0.0;  ///< a row a sample
  double vcd_bytes = 0.0;
};

/// A length with which a capture decides, and how often.
struct NeededCapture {
  Seconds duration;
  /// Of captures of a clock in the middle of its limits, the timebase anywhere
  /// within its tolerance: this part passes.
  double passes = 0.0;
  double at_best = 0.0;  ///< that of a capture that leaves nothing
  /// Where no jitter is stated: of less, at this length.
  std::optional<Seconds> jitter_below = {};
};

}  // namespace clockassay
