// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

namespace clockassay {

/// The most that sampling moves the mean place of n edges in a row, as a mean
/// square [samples²]: 1/12 where all edges meet the sampler at one phase,
/// hardly anything where they sweep it evenly, or jitter does.
/// Model:  the error of sampling is a sawtooth of the phase, of which jitter of
///         rms σ leaves exp(-2 π² σ² m²) of the m-th harmonic, and n edges one
///         period P apart at most 1/(2 n |m P - nearest whole|)
/// In:     period [samples], n > 0, jitter [samples]
/// Source: docs/measurement-model.md#stretches
double sampling_beat(double period, double n, double jitter);

}  // namespace clockassay
