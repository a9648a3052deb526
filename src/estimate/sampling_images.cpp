// SPDX-License-Identifier: GPL-3.0-or-later
#include "estimate/sampling_images.h"

#include <algorithm>
#include <cassert>
#include <cmath>
#include <cstdint>
#include <numbers>

namespace clockassay {
namespace {

constexpr double kPi = std::numbers::pi;
/// Harmonics looked at, of sampling and of the text each. Chosen: those of
/// sampling that are left out are smaller than the floor of 10^9 edges that
/// sweep the phases, those of the text smaller than 1e-4 of a step.
constexpr int kMostHarmonics = 20'000;
/// Sidelines of a line at most, and images that have some. Chosen: no spur has
/// more than a few hundred that are not negligible, beside those whose
/// harmonics reach that far.
constexpr std::size_t kMostSidelines = 20'000;
constexpr std::size_t kMostWithSidelines = 512;
/// Images so much smaller than what is to be explained are not counted.
constexpr double kNegligible = 0.02;
/// Lines whose amplitudes differ by less than one of twenty are of one size.
/// Chosen: what the bounds of sidelines leave out is less.
constexpr double kSamePart = 0.05;

/// At most so much of a harmonic is in its j-th sidelines, modulated by z
/// radians. Beyond z = 1 a modulation has harmonics of its own, which reach
/// further than a sinusoid.
double sideline_bound(int j, double z) {
  if (z < 1.0) return std::pow(0.5 * z, j) / std::tgamma(j + 1.0);
  return j <= 1.5 * z + 3.0 ? 0.7858 / std::cbrt(z) : 0.0;
}

double fraction(double x) {
  return x - std::floor(x);
}

/// What normal jitter [samples] leaves of a sinusoid.
double left_by(double jitter, double turns) {
  return std::exp(-2.0 * kPi * kPi * turns * turns * jitter * jitter);
}

/// |sin(pi x)/(pi x)|
double sinc(double x) {
  const double angle = kPi * std::abs(x);
  return angle < 1e-8 ? 1.0 : std::abs(std::sin(angle)) / angle;
}

/// The amplitude, `least` or more, above which rounding to steps has
/// kMostHarmonics or fewer: pairs h, m with step/(pi² h |h T/q + m|) above it,
/// two for each h and distance.
double least_of_rounding(double step, double least) {
  constexpr double kFiner = 1.25;  // chosen
  assert(least > 0.0);
  const auto harmonics = [&](double amplitude) {
    const double most = step / (kPi * amplitude);
    return most > 1.0 ? 2.0 / kPi * most * (1.0 + std::log(most)) : 0.0;
  };
  while (harmonics(least) > kMostHarmonics) least *= kFiner;
  return least;
}

}  // namespace

SamplingImages::SamplingImages(const SampledClock& clock, double least)
    : clock_(clock), least_(kNegligible * least) {
  add_sampling();
  if (clock.text_steps > 0.0) add_rounding();
  std::stable_sort(harmonics_.begin(), harmonics_.end(),
                   [](const Harmonic& a, const Harmonic& b) {
                     return a.amplitude > b.amplitude;
                   });
  for (const Harmonic& h : harmonics_) {
    places_.push_back({folded(h.turns_period * clock_.rate),
                       std::abs(h.turns) * clock_.uncertainty * clock_.rate,
                       h.amplitude, h.likely, h.name, std::abs(h.turns)});
  }
}

void SamplingImages::add_harmonic(double turns, double turns_period,
                                  double amplitude, const ImageName& name) {
  const double left = amplitude * left_by(clock_.jitter, turns);
  if (left < least_) return;
  harmonics_.push_back({turns, fraction(turns_period), left,
                        amplitude * left_by(clock_.likely_jitter, turns),
                        name});
}

void SamplingImages::add_sampling() {
  const double a_period = fraction(clock_.samples);
  for (int h = 1; h <= kMostHarmonics; ++h) {
    const double amplitude = clock_.interval / (kPi * h);
    if (amplitude * left_by(clock_.jitter, h) < least_) break;
    add_harmonic(h, h * a_period, amplitude, {h, 0, 0, {}});
  }
}

void SamplingImages::add_rounding() {
  const double step = clock_.interval / clock_.text_steps;
  const double least = least_of_rounding(step, least_);
  const double a_period = fraction(clock_.samples);
  const double of_text = fraction(clock_.samples * clock_.text_steps);
  for (int h = 1; step / (kPi * h) >= least; ++h) {
    const double amplitude = step / (kPi * h);
    const double turns = h * clock_.text_steps;
    const auto nearest = -std::llround(turns);
    // From there on to either side they get smaller.
    for (const int side : {1, -1}) {
      for (std::int64_t m = side > 0 ? nearest : nearest - 1;; m += side) {
        const auto intervals = static_cast<double>(m);
        const double off = turns + intervals;
        const double most = amplitude * left_by(clock_.jitter, off) *
                            std::min(1.0, 1.0 / (kPi * std::abs(off)));
        if (most < least) break;
        add_harmonic(off, h * of_text + intervals * a_period,
                     amplitude * sinc(off), {m, h, 0, {}});
      }
    }
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

bool SamplingImages::is_multiple(const SpectralLine& spur) const {
  return std::any_of(spurs_.begin(), spurs_.end(), [&](double other) {
    const double n = std::round(spur.frequency / other);
    return std::abs(spur.frequency - n * other) <= kSameBins * spur.bin_hz;
  });
}

void SamplingImages::add_spur(const SpectralLine& spur) {
  const std::size_t number = spurs_.size();
  const bool mixes = !is_multiple(spur);
  spurs_.push_back(spur.frequency);
  std::stable_sort(places_.begin(), places_.end(),
                   [](const ImagePlace& a, const ImagePlace& b) {
                     return a.amplitude > b.amplitude;
                   });
  const std::size_t modulated = std::min(places_.size(), kMostWithSidelines);
  const std::size_t most = places_.size() + kMostSidelines;
  for (std::size_t i = 0; i < modulated; ++i) {
    const ImagePlace base = places_[i];
    if (base.name.of_spur && !mixes) continue;
    const double z = 2.0 * kPi * base.turns * spur.amplitude / clock_.interval;
    for (int j = 1; places_.size() < most; ++j) {
      const double part = sideline_bound(j, z);
      if (base.amplitude * part < least_) break;
      for (const int side : {j, -j}) {
        ImagePlace place = base;
        // Folding takes both signs to both sides.
        place.frequency = folded(base.frequency + side * spur.frequency);
        place.spread += kSameWithin * j * spur.standard_uncertainty_hz;
        place.amplitude *= part;
        place.likely *= part;
        if (base.name.of_spur) {
          place.name.mixed = true;
        } else {
          place.name.sideline = side;
          place.name.of_spur = number;
        }
        places_.push_back(place);
      }
    }
  }
}

SamplingImages::Explanation SamplingImages::explain(const SpectralLine& line,
                                                    double bins) const {
  Explanation out;
  for (const ImagePlace& place : places_) {
    const double near = bins * line.bin_hz + place.spread;
    const double off = std::abs(place.frequency - line.frequency);
    if (off <= near) out.add(place);
    // Beyond half the rate it is mirrored: both add up.
    const double mirrored = clock_.rate - place.frequency - line.frequency;
    if (mirrored <= near) out.add(place);
  }
  return out;
}

bool may_be_as_large(const SpectralLine& other, const SpectralLine& line) {
  const double unsure =
      std::hypot(line.amplitude_uncertainty, other.amplitude_uncertainty);
  const double weaker =
      std::max(kSameWithin * unsure, kSamePart * line.amplitude);
  return other.amplitude >= line.amplitude - weaker;
}

std::optional<std::size_t> lower_twin(SamplingImages images,
                                      const std::vector<SpectralLine>& found,
                                      const SpectralLine& line) {
  images.add_spur(line);
  std::optional<std::size_t> lowest;
  double lowest_frequency = line.frequency;
  for (std::size_t i = 0; i < found.size(); ++i) {
    const SpectralLine& other = found[i];
    if (other.frequency >= lowest_frequency) continue;
    if (!may_be_as_large(other, line)) continue;
    if (!images.explain(other).strongest.of_spur) continue;
    lowest = i;
    lowest_frequency = other.frequency;
  }
  return lowest;
}

}  // namespace clockassay
