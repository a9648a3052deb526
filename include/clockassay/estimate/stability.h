// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <cstdint>
#include <optional>
#include <vector>

#include "clockassay/base/parallel.h"
#include "clockassay/base/units.h"
#include "clockassay/estimate/time_interval_error.h"

namespace clockassay {

/// Noise of a clock by the power alpha of f in the spectrum of its frequency.
enum class NoiseKind {
  kWhitePhase,        ///< 2: every edge for itself, as sampling makes
  kFlickerPhase,      ///< 1
  kWhiteFrequency,    ///< 0: every period for itself
  kFlickerFrequency,  ///< -1
  kWalkFrequency,     ///< -2, or less: the frequency drifts
};

/// A point whose Allan deviation is below so many times that of sampling alone
/// shows the sampling. Chosen: jitter as large as the sampling's gives 1.4;
/// edges that meet the sampler at two phases only, half a window off, give 1.7;
/// from 2 on three quarters of the variance are the clock's.
inline constexpr double kSamplingLimitedBelow = 2.0;

/// The longest tau is this part of what is analysed. Chosen: three of the
/// Allan deviation's terms then share no phase but their ends.
inline constexpr std::int64_t kShortestOverLongest = 4;

/// Deviations at one tau; absent: no term is left, or nothing can be said.
struct StabilityPoint {
  Seconds tau;                     ///< whole cycles
  std::optional<double> adev;      ///< overlapping Allan deviation
  std::optional<double> adev_low;  ///< 95 % interval
  std::optional<double> adev_high;
  std::optional<double> mdev;   ///< modified Allan deviation
  std::optional<Seconds> tdev;  ///< time deviation
  std::optional<double> hdev;   ///< overlapping Hadamard deviation
  std::optional<Seconds> mtie;  ///< maximum time-interval error
  /// Jitter of so many periods: rms of what they take more than the mean.
  std::optional<Seconds> n_period_rms;
  std::int64_t n = 0;           ///< terms of the Allan deviation
  std::int64_t decimation = 1;  ///< cycles from the begin of one to the next
  std::optional<double> edf;    ///< equivalent degrees of freedom of adev^2
  std::optional<NoiseKind> noise;
  std::optional<Seconds> noise_tau;  ///< where that was found, near this one
  /// What sampling alone makes of adev where edges meet it at all phases alike.
  std::optional<double> floor_adev;
  /// adev is below kSamplingLimitedBelow floor_adev.
  bool sampling_limited = false;
  /// In the time of a reference; else in the capture's own, so that the
  /// instrument's clock is in it.
  bool against_reference = false;
};

/// How a reference serves as the time of edges: docs/stability.md.
struct StabilityReference {
  Seconds from;  ///< shortest tau at which it does: two of its knots
  /// Of the edges in its time, about their line, where that is a tau there is.
  std::optional<Seconds> tie_rms;
  Seconds window;  ///< what sampling of both leaves of such an edge open
};

/// A line through the frequency of a clock in the whole view.
struct FrequencyDrift {
  double change = 0.0;  ///< relative, from the first edge to the last
  /// Of the variance of the frequencies of equal parts, 0 ... 1.
  double explained = 0.0;
};

struct Stability {
  std::vector<StabilityPoint> points;  ///< tau increases
  /// At 1, 2, 4, ... cycles whatever tau were chosen; else the same points.
  std::vector<StabilityPoint> octaves;
  Seconds longest;  ///< tau there may be
  /// Of those chosen: longer than that, or shorter than half a cycle.
  std::vector<Seconds> left_out;
  /// Where one was looked for; it may be that no tau is long enough for it.
  std::optional<StabilityReference> reference;
  /// In the time of the reference where there is one; absent: too few edges.
  std::optional<FrequencyDrift> drift;
};

struct StabilityOptions {
  /// Each is rounded to whole cycles. None: 1, 2, 4, ... cycles.
  std::vector<Seconds> taus = {};
};

/// What the ticks of phases mean.
struct PhaseScale {
  double period_ticks = 1.0;
  double tick_s = 1.0;
  std::optional<double> window_ticks;  ///< of an edge, where it is sampled
  /// Cycles whose phases have noise in common, beyond what the kinds of noise
  /// have: terms closer together say nothing new.
  double shared_cycles = 1.0;
};

/// Frequency stability of the rising edges of a view, in the capture's own
/// time: the instrument's clock is in it.
/// Out:    no points below 5 cycles
/// Cost:   7 passes over the view for tau of 1, 2, 4 ... cycles, one more for
///         each tau chosen; memory below 60 MB for 2^20 cycles or more, and a
///         few for each thread
/// Assumes noise of one kind at each tau, for the interval
/// Source: docs/stability.md
Stability describe_stability(const TimeIntervalErrors& errors,
                             const PhaseScale& scale,
                             const StabilityOptions& options,
                             const ParallelFor& parallel_for);

}  // namespace clockassay
