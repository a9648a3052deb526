// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <cstdint>
#include <optional>
#include <string>
#include <vector>

#include "clockassay/base/units.h"

namespace clockassay {

/// Below this many samples a period nothing is decided: a clock above half the
/// sample rate would look the same. Common practice, no source.
inline constexpr double kFewestSamplesPerPeriod = 3.0;

/// Coverage of the half-widths of estimates.
inline constexpr double kHalfWidthCoverage = 0.95;

/// How a frequency was found.
enum class EstimateMethod {
  kFeasibleSet,   ///< one constant-frequency line passes through every window
  kLikelihood,    ///< none does: jitter, seen through the windows
  kLeastSquares,  ///< jitter so large that the windows hardly matter
  kIntervalOnly,  ///< too few edges for more than what the windows enclose
};

/// A frequency as the capture alone gives it, in the capture's own time: the
/// instrument's clock is not yet in it. half_width is the 95 % half-width that
/// sampling and jitter leave.
struct FrequencyEstimate {
  Hertz frequency;
  Hertz half_width;
  /// Contains the frequency if the clock has no jitter and the sampler is
  /// ideal; absent when no such frequency exists.
  std::optional<Hertz> bound_low;
  std::optional<Hertz> bound_high;
  EstimateMethod method = EstimateMethod::kIntervalOnly;
};

/// Names of what only a statement of the instrument brings.
inline constexpr const char* kSkewStated = "edge skew, as stated";
inline constexpr const char* kInputJitterStated =
    "instrument's input, as stated";

/// One line of the uncertainty of a duty.
struct DutyLine {
  std::string name;
  std::string distribution;
  double standard_uncertainty = 0.0;
};

/// High time over period.
struct DutyEstimate {
  double value = 0.0;
  double standard_uncertainty = 0.0;  ///< of all lines
  std::vector<DutyLine> lines = {};
};

/// Rms jitter of one edge about the line, what sampling adds taken off.
struct EdgeJitter {
  /// Absent where the capture shows none, or too little of it to be told from
  /// the slope and the sampling.
  std::optional<double> rms;          ///< [ticks]
  double standard_uncertainty = 0.0;  ///< of rms [ticks]
  /// Not exceeded in 95 of 100 captures; absent where nothing bounds it.
  std::optional<double> upper_limit;  ///< [ticks]
};

/// What is in the scatter of the edges that were seen.
struct JitterPart {
  std::string name;
  Seconds rms;  ///< of one edge
};

/// Jitter of one clock. But for the edges' own, edge_rms, it is as sampled: the
/// sampling interval may have made most of it (resolution_limited). TIE is
/// against the fitted line, of rising edges. Absent members could not be
/// formed.
struct Jitter {
  std::optional<Seconds> period_rms;
  std::optional<Seconds> period_peak_to_peak;
  std::optional<Seconds> cycle_to_cycle_rms;
  std::optional<Seconds> cycle_to_cycle_peak;
  std::optional<Seconds> tie_rms;
  std::optional<Seconds> tie_peak_to_peak;
  /// Against the grid of a frequency that was expected; see NominalError.
  std::optional<Seconds> tie_nominal_rms;
  std::optional<Seconds> tie_nominal_peak_to_peak;
  std::int64_t cycles = 0;  ///< periods
  std::int64_t pairs = 0;   ///< of neighbouring periods, for cycle to cycle
  bool resolution_limited = false;
  std::optional<Seconds> edge_rms;  ///< see EdgeJitter
  /// Expanded: twice the standard uncertainty, 95 %.
  std::optional<Seconds> edge_rms_uncertainty;
  std::optional<Seconds> upper_limit;  ///< of the edges' own rms, 95 %
  std::vector<JitterPart> parts;
};

enum class SpectralOutcome { kAgrees, kDisagrees, kNotApplicable };

/// The frequency again, from the spectrum, without cycle numbers.
struct SpectralCheck {
  SpectralOutcome outcome = SpectralOutcome::kNotApplicable;
  std::optional<Hertz> frequency;
  std::optional<Ppm> difference;
  std::optional<Ppm> limit;
  std::string reason;  ///< why not applicable, or what disagreement means
};

}  // namespace clockassay
