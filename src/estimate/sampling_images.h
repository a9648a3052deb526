// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <cstddef>
#include <optional>
#include <vector>

#include "estimate/spectral_lines.h"

namespace clockassay {

/// How a clock meets a grid of instants that its edges are moved to.
struct SampledClock {
  double rate = 0.0;           ///< frequency of the clock [Hz]
  double samples = 0.0;        ///< grid steps a period
  double uncertainty = 0.0;    ///< as far as that may be off, wander too
  double step = 0.0;           ///< length of a grid step, unit of amplitudes
  double jitter = 0.0;         ///< rms that edges have at least [steps]
  double likely_jitter = 0.0;  ///< the same, as it seems to be
};

/// Which image a line may be: harmonic h of the error of sampling, or a
/// sideline that a line of the clock's own gives it.
struct ImageName {
  int harmonic = 0;
  int sideline = 0;                         ///< 0: the harmonic itself
  std::optional<std::size_t> of_spur = {};  ///< by the order of add_spur()
};

/// Where an image is, and how large.
struct ImagePlace {
  double frequency = 0.0;  ///< [Hz], 0 … rate / 2
  double spread = 0.0;     ///< may be so far off [Hz]
  double amplitude = 0.0;  ///< at most
  double likely = 0.0;     ///< with the jitter there seems to be
  ImageName name;
};

/// Lines that sampling makes of a clock.
/// Model:  an edge at phase u of a sample is moved by the sawtooth
///         sum_h sin(2 pi h u)/(pi h) steps. In edges one period apart
///         harmonic h is a line at frac(h samples) * rate, folded at rate/2,
///         of amplitude step/(pi h), of which normal jitter leaves
///         exp(-2 pi² h² jitter²); a line of the clock's own at f with
///         amplitude A modulates its phase by z = 2 pi h A/step: sidelines j f
///         away, at most (z/2)^j/j! of it and at most 0.7858 z^(-1/3)
/// Source: docs/spectrum.md#sampling-images; Landau, J. London Math. Soc. 61,
///         2000 for the last bound
class SamplingImages {
 public:
  /// In: least  amplitude below which nothing need be explained
  SamplingImages(const SampledClock& clock, double least);

  /// From now on the sidelines of that line count.
  void add_spur(const SpectralLine& spur);

  struct Explanation {
    double sum = 0.0;  ///< of what images there may have
    double squares = 0.0;
    double likely_squares = 0.0;
    ImageName strongest;
    double strongest_amplitude = 0.0;

    void add(const ImagePlace& place);
    void add(const Explanation& other);
    /// What they come to at most: many of them, of any phases, reach three
    /// times the root of their squares once in 8000.
    double most() const;
    double likely_rms() const;
  };
  /// What images within two bins of a line can be.
  Explanation explain(const SpectralLine& line) const;

 private:
  double folded(double frequency) const;
  double harmonic_amplitude(int h, double jitter) const;

  SampledClock clock_;
  double least_;
  std::size_t spurs_ = 0;
  std::vector<ImagePlace> places_;
};

/// A line and a sideline that it gives an image are told apart by their size
/// only. Of those lines of `found` that may be sidelines of `line`, and it of
/// theirs, and are not clearly weaker, the index of the one of least frequency;
/// absent: it is `line` itself.
std::optional<std::size_t> lower_twin(const SampledClock& clock, double least,
                                      const std::vector<SpectralLine>& found,
                                      const SpectralLine& line);

}  // namespace clockassay
