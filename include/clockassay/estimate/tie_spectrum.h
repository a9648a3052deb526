// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <cstddef>
#include <cstdint>
#include <optional>
#include <string>
#include <vector>

#include "clockassay/base/parallel.h"
#include "clockassay/base/result.h"
#include "clockassay/base/units.h"
#include "clockassay/edges/edge_store.h"

namespace clockassay {

/// Some neighbouring bins of a spectrum.
struct SpectrumBand {
  Hertz frequency;    ///< the middle of them
  double mean = 0.0;  ///< one-sided S_x(f) [s²/Hz]
  double most = 0.0;  ///< the largest
};

/// A line of the spectrum that is the clock's own, or the instrument's. As a
/// sinusoid of the time-interval error.
struct Spur {
  Hertz frequency;
  Hertz frequency_uncertainty;  ///< standard
  Seconds rms;
  Seconds peak;
  Seconds peak_uncertainty;  ///< standard
  /// Power of one sideband over that of the carrier, by phase modulation [dBc].
  double sideband_dbc = 0.0;
  /// Probability that noise alone makes such a line anywhere.
  double false_alarm = 0.0;
  /// The line of the same size which may be the clock's own, and this one what
  /// sampling makes of it: nothing tells which.
  std::optional<Hertz> may_be = {};
};

/// A line that sampling makes, or may have made.
struct SamplingImage {
  Hertz frequency;
  Seconds peak;
  std::int64_t harmonic = 0;  ///< of the sampling interval
  int text_harmonic = 0;      ///< of the step of the text, beside it
  int sideline = 0;           ///< so many times `of` away from it
  std::optional<Hertz> of;
  /// So near in size that it may as well be a spur that images lie on.
  bool may_be_spur = false;
};

/// How the frequency of a spread clock goes up and down, as far as the
/// harmonics show.
enum class SpreadProfile {
  kSine,      ///< no third harmonic of a triangle
  kTriangle,  ///< the third harmonic of a triangle
  kOther,     ///< another one, or a second
  kNotSeen    ///< harmonics of that size would be below the floor
};

/// A frequency that is modulated periodically.
struct SpreadSpectrum {
  Hertz rate;
  Hertz rate_uncertainty;  ///< standard
  /// From the lowest to the highest frequency, relative to the mean one: of the
  /// profile; of one that is not seen, of anything from a sine to a cusp; of
  /// another, as if all its harmonics peaked at once, down to its fundamental
  /// alone by the uncertainty.
  Ppm depth;
  Ppm depth_uncertainty;  ///< standard
  SpreadProfile profile = SpreadProfile::kNotSeen;
  Hertz lowest;  ///< half of it to either side of the mean frequency
  Hertz highest;
};

/// The power spectral density of the time-interval error of the rising edges,
/// one value a cycle, and its lines. Frequencies in the capture's own time.
struct TieSpectrum {
  /// Segments of one value a cycle, or of weighted means of several cycles,
  /// one every `cycles`.
  struct Scale {
    std::int64_t cycles = 1;  ///< from one value to the next
    std::size_t segment = 0;  ///< values
    std::int64_t segments = 0;
    std::int64_t left_out = 0;  ///< segments with too many lost cycles
    Hertz resolution;           ///< equivalent noise bandwidth
    Hertz from;                 ///< what it is used for
    Hertz to;
  };
  Scale fine;
  std::optional<Scale> coarse;   ///< low frequencies of a long view
  std::int64_t lost_cycles = 0;  ///< interpolated, or in segments left out
  double floor = 0.0;            ///< S_x without lines, median [s²/Hz]
  double root_floor = 0.0;       ///< its root [s/√Hz]
  Seconds floor_rms;  ///< white jitter of that floor, sampling with it
  std::vector<SpectrumBand> bands;  ///< by frequency
  double most_false_alarms = 0.0;   ///< spurs are less likely to be noise
  Hertz searched_from;              ///< spurs are looked for from here on
  std::vector<Spur> spurs;  ///< strongest first, those of a spread left out
  /// False where the sampling interval is not known, or what it makes of edges
  /// between samples of a voltage: lines that it may have made are unsorted.
  bool sampling_known = false;
  bool interpolated = false;   ///< edges lie between samples of a voltage
  std::vector<Spur> unsorted;  ///< of the clock or of sampling; strongest first
  std::vector<SamplingImage> sampling_images;  ///< strongest first
  std::optional<SpreadSpectrum> spread;
};

/// What the spectrum is formed with.
struct TieSpectrumOptions {
  /// A clean capture shows a spur with less than that probability. Chosen.
  double most_false_alarms = 1e-3;
  /// Values of a segment at most, a power of two. Chosen: a thousand lines a
  /// decade, and transforms that stay in a processor's cache.
  std::size_t longest_segment = 65536;
};

/// What is known of the edges.
struct TieSpectrumInput {
  double period_ticks = 0.0;
  double period_uncertainty_ticks = 0.0;  ///< standard
  double tick_s = 0.0;
  double window_ticks = 0.0;  ///< of one edge
  /// Absent: not known, or edges lie between samples of a voltage.
  std::optional<double> sample_ticks = {};
  bool interpolated = false;  ///< the latter
};

/// Welch's averaged periodograms of the time-interval error of rising edges;
/// falling edges are not looked at. From about 4 million cycles on low
/// frequencies come from means of cycles. Lines over the floor that images of
/// sampling explain, in place and in size, are no spurs.
/// Cannot show what is above half the clock's frequency: it is folded below it;
/// nor what is slower than searched_from.
/// In:     a view with two rising edges, its estimate
/// Out:    the same bits for any blocks and threads
/// Errors: kTooFewEdges below 1088 cycles, or when no segment is whole enough;
///         kOutOfRange as sum_edges()
/// Source: docs/spectrum.md
Result<TieSpectrum> tie_spectrum(const EdgeView& view,
                                 const TieSpectrumInput& input,
                                 const TieSpectrumOptions& options,
                                 const ParallelFor& parallel_for);

}  // namespace clockassay
