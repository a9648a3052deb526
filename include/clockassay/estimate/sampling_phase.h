// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <cstdint>
#include <optional>

#include "clockassay/base/units.h"

namespace clockassay {

/// A clock whose period is so nearly a simple fraction of the sampling interval
/// that its edges meet the sampler at few phases.
struct FewPhases {
  std::int64_t samples = 0;  ///< p
  std::int64_t periods = 0;  ///< q, lowest terms: q periods take p samples
  /// How far the phases move in the capture, in steps of a phase: below 1, so
  /// that between them nothing was ever sampled.
  double steps = 0.0;
  Hertz beat{0.0};         ///< steps a second, |q fs - p f|
  Ppm resolution{0.0};     ///< what stays open at best, T/q over the capture
  Hertz better_rate{0.0};  ///< a sample rate that meets all phases
};

/// Finds the least q up to 8 (chosen: an eighth of a sample is no coarse
/// figure) with ten edges a phase or more (chosen: fewer may be chance).
/// Model:  edge k is at phase k P of a sample; q P = p + d makes q phases 1/q
///         apart, which N cycles move by N d, and so by N q |P - p/q| steps
/// In:     period [samples] > 0, cycles in the capture, its length
/// Out:    absent when the edges went through all phases
/// Source: docs/measurement-model.md#commensurate-sampling
std::optional<FewPhases> find_few_phases(double period_samples, double cycles,
                                         Seconds span);

}  // namespace clockassay
