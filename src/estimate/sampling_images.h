// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <cstddef>
#include <cstdint>
#include <optional>
#include <vector>

#include "estimate/spectral_lines.h"

namespace clockassay {

/// What is nearer, in standard uncertainties, is the same. Chosen: noise is
/// further off once in 400.
inline constexpr double kSameWithin = 3.0;

/// As far as is known, and but for what the bounds of sidelines leave out.
bool may_be_as_large(const SpectralLine& other, const SpectralLine& line);

/// An image and a peak are at one place within so many bins: the resolution
/// bandwidth.
inline constexpr double kSameBins = 2.0;

/// How a clock meets a sampler, and the text that its samples are written in.
struct SampledClock {
  double rate = 0.0;         ///< frequency of the clock [Hz]
  double samples = 0.0;      ///< sampling intervals a period
  double uncertainty = 0.0;  ///< as far as that may be off, wander too
  double interval = 0.0;     ///< of the samples, unit of amplitudes
  /// Steps of the text in a sampling interval, where the text rounds the times
  /// of samples; 0: it says them as they are.
  double text_steps = 0.0;
  double jitter = 0.0;         ///< rms that edges have at least [samples]
  double likely_jitter = 0.0;  ///< the same, as it seems to be
};

/// Which image a line may be: a harmonic of the error of sampling, or a
/// sideline that a line of the clock's own gives it.
struct ImageName {
  std::int64_t harmonic = 0;  ///< of the sampling interval
  int text_harmonic = 0;      ///< of the step of the text, beside it
  int sideline = 0;           ///< 0: the harmonic itself
  std::optional<std::size_t> of_spur = {};  ///< by the order of add_spur()
  bool mixed = false;  ///< other lines have their part in the sideline
};

/// Where an image is, and how large.
struct ImagePlace {
  double frequency = 0.0;  ///< [Hz], 0 … rate / 2
  double spread = 0.0;     ///< may be so far off [Hz]
  double amplitude = 0.0;  ///< at most
  double likely = 0.0;     ///< with the jitter there seems to be
  ImageName name;
  double turns = 0.0;  ///< a sampling interval, of the harmonic
};

/// Lines that sampling makes of a clock.
/// Model:  an edge at t, in sampling intervals T, is moved by a sawtooth of t,
///         sum_h sin(2 pi h t)/(pi h) T. Text of steps q rounds what was
///         sampled: a sawtooth of T ceil(t)/q, whose harmonic h is a sum of
///         sinusoids of t with h T/q + m turns an interval, m any whole number,
///         of amplitude q/(pi h) |sinc(h T/q + m)|. In edges P intervals apart
///         a sinusoid of v turns an interval is a line at frac(v P) * rate,
///         folded at rate/2, of which normal jitter leaves exp(-2 pi² v²
///         jitter²); a line of the clock's own with amplitude A at f modulates
///         its phase by z = 2 pi v A/T: sidelines j f away, at most (z/2)^j/j!
///         of it and at most 0.7858 z^(-1/3)
/// Source: docs/spectrum.md#sampling-images; Landau, J. London Math. Soc. 61,
///         2000 for the last bound
class SamplingImages {
 public:
  /// In: least  amplitude below which nothing need be explained
  SamplingImages(const SampledClock& clock, double least);

  /// From now on the sidelines of that line count, those that it gives
  /// sidelines of others, too, unless it is a multiple of an earlier line: then
  /// they are where those of that line are.
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
  /// What images within so many bins of a line can be; beyond half the rate
  /// they have mirror images.
  Explanation explain(const SpectralLine& line, double bins = kSameBins) const;

 private:
  /// A sinusoid of the error that edges at t are given.
  struct Harmonic {
    double turns = 0.0;         ///< a sampling interval
    double turns_period = 0.0;  ///< a period, but for whole ones
    double amplitude = 0.0;     ///< that is left of it at most
    double likely = 0.0;        ///< the same with the jitter there seems to be
    ImageName name;
  };

  void add_sampling();
  void add_rounding();
  void add_harmonic(double turns, double turns_period, double amplitude,
                    const ImageName& name);
  double folded(double frequency) const;
  bool is_multiple(const SpectralLine& spur) const;

  SampledClock clock_;
  double least_;
  std::vector<double> spurs_;        // frequencies
  std::vector<Harmonic> harmonics_;  // largest first
  std::vector<ImagePlace> places_;
};

/// A line and a sideline that it gives an image are told apart by their size
/// only. Of those lines of `found` that may be sidelines of `line`, and it of
/// theirs, and are not clearly weaker, the index of the one of least frequency;
/// absent: it is `line` itself.
/// In: images  without sidelines of any line
std::optional<std::size_t> lower_twin(SamplingImages images,
                                      const std::vector<SpectralLine>& found,
                                      const SpectralLine& line);

}  // namespace clockassay
