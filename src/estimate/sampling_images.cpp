// SPDX-License-Identifier: GPL-3.0-or-later
#include "estimate/sampling_images.h"

#include <algorithm>
#include <cmath>
#include <numbers>

namespace clockassay {
namespace {

constexpr double kPi = std::numbers::pi;
/// Harmonics looked at. Chosen: those left out are smaller than the floor of
/// 10^9 edges that sweep the phases.
constexpr int kMostHarmonics = 20'000;
/// Sidelines of a line at most, and harmonics that have some. Chosen.
constexpr std::size_t kMostSidelines = 20'000;
constexpr int kMostWithSidelines = 256;
/// Images so much smaller than what is to be explained are not counted.
constexpr double kNegligible = 0.02;
/// An image and a peak are at one place within so many bins: the resolution
/// bandwidth.
constexpr double kSameBins = 2.0;
/// Lines whose amplitudes differ by less, in standard uncertainties, or by less
/// than one of twenty, are of one size.
constexpr double kSameSize = 3.0;
constexpr double kSamePart = 0.05;

/// At most so much of a harmonic is in its j-th sidelines, modulated by z
/// radians. Beyond z = 1 a modulation has harmonics of its own, which reach
/// further than a sinusoid.
double sideline_bound(int j, double z) {
  if (z < 1.0) return std::pow(0.5 * z, j) / std::tgamma(j + 1.0);
  return j <= 1.5 * z + 3.0 ? 0.7858 / std::cbrt(z) : 0.0;
}

}  // namespace

SamplingImages::SamplingImages(const SampledClock& clock, double least)
    : clock_(clock), least_(kNegligible * least) {
  for (int h = 1; h <= kMostHarmonics; ++h) {
    const double amplitude = harmonic_amplitude(h, clock.jitter);
    if (amplitude < least_) break;
    const double turns = h * (clock.samples - std::floor(clock.samples));
    places_.push_back({folded((turns - std::floor(turns)) * clock.rate),
                       h * clock.uncertainty * clock.rate,
                       amplitude,
                       harmonic_amplitude(h, clock.likely_jitter),
                       {h, 0, {}}});
  }
}

void SamplingImages::Explanation::add(const ImagePlace& place) {
  sum += place.amplitude;
  squares += place.amplitude * place.amplitude;
  likely_squares += place.likely * place.likely;
  if (place.amplitude <= strongest_amplitude) return;
  strongest_amplitude = place.amplitude;
  strongest = place.name;
}

void SamplingImages::Explanation::add(const Explanation& other) {
  sum += other.sum;
  squares += other.squares;
  likely_squares += other.likely_squares;
  if (other.strongest_amplitude <= strongest_amplitude) return;
  strongest_amplitude = other.strongest_amplitude;
  strongest = other.strongest;
}

double SamplingImages::Explanation::most() const {
  return std::min(sum, 3.0 * std::sqrt(squares));
}

double SamplingImages::Explanation::likely_rms() const {
  return std::sqrt(0.5 * likely_squares);
}

double SamplingImages::folded(double frequency) const {
  const double turns = frequency / clock_.rate;
  const double part = turns - std::floor(turns);
  return std::min(part, 1.0 - part) * clock_.rate;
}

double SamplingImages::harmonic_amplitude(int h, double jitter) const {
  const double blurred = 2.0 * kPi * kPi * h * h * jitter * jitter;
  return clock_.step / (kPi * h) * std::exp(-blurred);
}

void SamplingImages::add_spur(const SpectralLine& spur) {
  const std::size_t number = spurs_++;
  const double fraction = clock_.samples - std::floor(clock_.samples);
  std::size_t added = 0;
  for (int h = 1; h <= kMostWithSidelines; ++h) {
    const double harmonic = harmonic_amplitude(h, clock_.jitter);
    const double likely = harmonic_amplitude(h, clock_.likely_jitter);
    if (harmonic < least_) return;
    const double z = 2.0 * kPi * h * spur.amplitude / clock_.step;
    for (int j = 1; j < kMostHarmonics && added < kMostSidelines; ++j) {
      const double amplitude = harmonic * sideline_bound(j, z);
      if (amplitude < least_) break;
      const double spread = h * clock_.uncertainty * clock_.rate +
                            kSameSize * j * spur.standard_uncertainty_hz;
      for (const int side : {j, -j}) {
        places_.push_back(
            {folded(h * fraction * clock_.rate + side * spur.frequency),
             spread,
             amplitude,
             likely * sideline_bound(j, z),
             {h, side, number}});
        ++added;
      }
    }
  }
}

SamplingImages::Explanation SamplingImages::explain(
    const SpectralLine& line) const {
  Explanation out;
  for (const ImagePlace& place : places_) {
    const double off = std::abs(place.frequency - line.frequency);
    if (off > kSameBins * line.bin_hz + place.spread) continue;
    out.add(place);
  }
  return out;
}

std::optional<std::size_t> lower_twin(const SampledClock& clock, double least,
                                      const std::vector<SpectralLine>& found,
                                      const SpectralLine& line) {
  SamplingImages images(clock, least);
  images.add_spur(line);
  std::optional<std::size_t> lowest;
  double lowest_frequency = line.frequency;
  for (std::size_t i = 0; i < found.size(); ++i) {
    const SpectralLine& other = found[i];
    if (other.frequency >= lowest_frequency) continue;
    const double unsure =
        std::hypot(line.amplitude_uncertainty, other.amplitude_uncertainty);
    const double weaker =
        std::max(kSameSize * unsure, kSamePart * line.amplitude);
    if (other.amplitude < line.amplitude - weaker) continue;
    if (!images.explain(other).strongest.of_spur) continue;
    lowest = i;
    lowest_frequency = other.frequency;
  }
  return lowest;
}

}  // namespace clockassay
