// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <cstdint>
#include <optional>
#include <vector>

#include "clockassay/base/rational.h"
#include "clockassay/base/result.h"
#include "clockassay/capture/level_event.h"

namespace clockassay {

/// A clock and the sampler that looks at it. What decides on which side of a
/// sample an edge falls is exact; what is noise anyway is double.
struct SimulatedClockOptions {
  Rational frequency_hz = Rational(12'000'000);     ///< nominal
  Rational offset_ppm = Rational(0);                ///< positive is fast
  Rational sample_rate_hz = Rational(100'000'000);  ///< of an ideal sampler
  /// Length: one of the two. N cycles are a capture as long as N periods.
  std::optional<std::int64_t> cycles = {};
  std::optional<Rational> duration_s = {};
  double jitter_rms_s = 0.0;  ///< white, normal, on every edge by itself
  Rational duty = *Rational::make(1, 2);  ///< high time over period, 0 … 1
  double drop_probability = 0.0;    ///< a high pulse is lost, both its edges
  double glitch_probability = 0.0;  ///< a cycle has a short extra pulse
  std::uint64_t seed = 1;
  /// Position of the first rising edge at or after time 0, as a fraction of a
  /// period, 0 <= phase < 1. Absent: drawn from the seed.
  std::optional<Rational> start_phase = {};
};

/// What is true of a simulated capture, whatever can be seen of it.
struct SimulationTruth {
  Rational frequency_hz;      ///< offset included, exact
  Rational start_phase;       ///< as given or drawn
  std::int64_t pulses = 0;    ///< high pulses that rise within the capture
  std::int64_t dropped = 0;   ///< of these, lost
  std::int64_t glitches = 0;  ///< extra pulses, two edges each
  std::int64_t merged = 0;    ///< pairs of edges no sample came between
};

/// Samples 0 … last_sample of one channel, as its changes.
struct SimulatedCapture {
  Rational sample_rate_hz;
  std::int64_t last_sample = 0;
  Level first_level = Level::kLow;  ///< of sample 0
  /// Samples that differ from the one before, strictly increasing, from 1 on.
  std::vector<std::int64_t> edges;
  SimulationTruth truth;
};

/// Samples a clock with known truth.
/// Model:  rise k at t = (k + phase) / f, fall at t = (k + phase + duty) / f,
///         plus normal noise each; seen first by sample n = ceil(t * fs).
///         A pulse no sample falls into is not seen; it is counted as merged.
/// Out:    the same for the same options: n is computed in integers (the
///         position of every edge is a fraction with one denominator, carried
///         as quotient and remainder), so it is right to the sample for any
///         length and offset. Only with jitter does floating point enter, on
///         the noise alone, and the last bit of log and sqrt may matter.
/// Errors: kUsage for what no clock or sampler can do: less than 2 or more than
///         2^60 samples a period, a jitter beyond a quarter of the shorter
///         half, probabilities outside 0 … 1, neither or both lengths;
///         kOutOfRange when the fractions have too many digits to stay exact.
/// Cost:   O(edges) time, 8 bytes an edge
Result<SimulatedCapture> simulate_clock(const SimulatedClockOptions& options);

}  // namespace clockassay
