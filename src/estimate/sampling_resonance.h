// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <cstdint>
#include <optional>
#include <span>
#include <vector>

#include "clockassay/base/parallel.h"
#include "clockassay/edges/edge_store.h"
#include "clockassay/estimate/edge_sums.h"

namespace clockassay {

/// The phases at which a clock meets the sampler over a view.
struct SamplerPhases {
  double period = 0.0;      ///< [samples]
  std::int64_t cycles = 0;  ///< of the view
  /// By how many samples the capture's time runs ahead in equal parts of the
  /// view, off any line.
  std::vector<double> path;
  /// The first harmonic of the sampling error that hardly turns within a 32nd
  /// of the view: the sampler has so many phases for the clock. 0: none has.
  int few = 0;

  SamplerPhases(double period, std::int64_t cycles, std::vector<double> path);
};

/// How far sampling moves the slope of a line, beyond what the scatter of the
/// means of 32 parts shows of it, when a clock meets the sampler at phases that
/// hardly move, or move as the timebase wanders.
/// Model:  edge k of period P is met at phase u = u0 + P k + path, and sampling
///         adds the sawtooth of u, rounded by jitter. The line through that is
///         worked out for many u0, as is its scatter
/// In:     sigma  rms jitter of an edge [samples]
/// Out:    half-width at 95 % [samples over the view], for any u0, the worst of
///         the periods that the capture leaves open: 3/4 of a turn of the first
///         harmonic that stands still
/// Source: docs/measurement-model.md#reference-channel
double sampling_resonance(const SamplerPhases& phases, double sigma);

/// The rms normal jitter of edges that scatter by that variance [samples,
/// samples²], at most 1. What sampling adds counts as scatter, but for those of
/// its harmonics that are multiples of `few`; 0: all of it.
double jitter_of(double variance, int few);

/// The rms jitter that edges show within parts of a view, or less: by the
/// quarter of the parts that scatter least about lines of their own, because a
/// part that meets only one phase of the sampler shows too little or too much.
/// In:     few  phases of the sampler, 0 if many, of which sampling scatters
///         the edges by 1/12 (1 - 1/few²) even without jitter
/// Out:    in units of `sample`, the sampling interval in those of the sums
double least_jitter(std::span<const LineSums> parts, double sample, int few);

/// Variance of rising edges from one to the next, sampling with it: by their
/// eighth differences, in which what the capture's time does over ten edges or
/// more is no part.
/// In:     sample  the sampling interval [ticks]
/// Out:    in samples²; absent below 32 differences. The same bits for any
///         blocks and threads
std::optional<double> quick_variance(const EdgeView& view,
                                     const EdgeFrame& frame, double sample,
                                     const ParallelFor& parallel_for);

/// The rms jitter that edges have for certain: no more than they show within
/// parts, nor than they show from one to the next less what sampling adds to
/// that. Where they show far more within the parts, time wanders fast, and that
/// is no jitter: it may meet the same phases of the sampler in every turn, any
/// of them, and then as much is taken off as sampling can add.
/// In:     least  from least_jitter(); quick  from quick_variance()
double certain_jitter(const SamplerPhases& phases, double least, double quick);

}  // namespace clockassay
