// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <span>

#include "clockassay/estimate/edge_sums.h"

namespace clockassay {

/// How far sampling moves the slope of a line when a clock meets the sampler at
/// phases that hardly move, or only as the timebase wanders.
/// Model:  what sampling adds to an edge at phase u is
///         sum_m exp(-2 pi² m² sigma²) sin(2 pi m u)/(pi m); harmonic m, seen
///         along the phases m u(k), moves the slope by at most
///         12 |mean of x exp(2 pi i m u(x))| of its size, x from -1/2 to 1/2
///         over the view
/// In:     period [samples], cycles of the view; path  by how many samples the
///         capture's time runs ahead in equal parts of the view, off any line;
///         sigma  rms jitter of an edge [samples]
/// Out:    at most so much [samples over the view], for any phase at the
///         beginning and any period within what the capture resolves, 3/4 of a
///         turn of the first harmonic that stands still
/// Source: docs/measurement-model.md#reference-channel
double sampling_resonance(double period, double cycles,
                          std::span<const double> path, double sigma);

/// The rms jitter that edges show within parts of a view, or less: by the
/// quarter of the parts that scatter least about lines of their own, because a
/// part that meets only one phase of the sampler shows too little or too much.
/// Out: in units of `sample`, the sampling interval in those of the sums
double least_jitter(std::span<const LineSums> parts, double sample);

}  // namespace clockassay
