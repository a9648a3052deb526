// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <cstddef>
#include <functional>
#include <optional>
#include <random>

#include "clockassay/base/parallel.h"
#include "clockassay/base/rational.h"
#include "clockassay/estimate/tie_spectrum.h"
#include "support/test_stretch.h"

namespace clockassay {

/// A clock, and an ideal sampler with one tick a sample, or one a step of the
/// text that rounds the samples' times.
struct SpectrumTrial {
  double period = 0.0;  ///< samples
  double sigma = 0.0;   ///< white jitter rms, samples
  std::size_t cycles = 0;
  /// How much later an edge at time t comes, both in samples.
  std::function<double(double)> moved = {};
  /// A sample has so many steps of the text; absent: the text says samples.
  std::optional<Rational> steps_a_sample = {};
};

TestStretch sample_clock(const SpectrumTrial& trial, std::mt19937_64& random);

/// The spectrum as the program forms it, after the estimate.
/// In: sample_s  length of a sample
Result<TieSpectrum> spectrum_of(const EdgeView& view, double sample_s,
                                const TieSpectrumOptions& options = {},
                                const ParallelFor& parallel_for = serial_for);

/// The same where the sampling interval is not stated.
Result<TieSpectrum> spectrum_of_unknown(const EdgeView& view, double sample_s);

/// The same of a trial's stretch whose text rounds.
Result<TieSpectrum> spectrum_of_text(const EdgeView& view, double sample_s,
                                     const Rational& steps_a_sample);

/// The same about the least-squares line: quicker, where the phases of the
/// sampler are met evenly.
Result<TieSpectrum> spectrum_about_line(const EdgeView& view, double sample_s,
                                        const TieSpectrumOptions& options = {});

}  // namespace clockassay
