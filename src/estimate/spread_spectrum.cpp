// SPDX-License-Identifier: GPL-3.0-or-later
#include "estimate/spread_spectrum.h"

#include <algorithm>
#include <cmath>
#include <cstddef>
#include <numbers>

namespace clockassay {
namespace {

constexpr double kPi = std::numbers::pi;
/// Chosen: its size is then known to a fifth.
constexpr double kFarAbove = 5.0;
/// Chosen: a tenth of what lines may be of noise where nothing else is asked.
constexpr double kMostFalseAlarm = 1e-4;
/// Clocks are spread by 0.25 % to some percent, some thousand to a hundred
/// thousand times a second, mostly 30 000 or so. Common practice, no source:
/// what is outside these limits is a spur, hum or ripple of a converter, or
/// beats with something else.
constexpr double kLeastDepth = 1e-3;
constexpr double kMostDepth = 0.1;
constexpr double kLeastRate = 3e3;
constexpr double kMostRate = 150e3;
/// Depth of a square over that of its fundamental.
constexpr double kSquare = kPi / 4.0;
/// A profile takes more cycles than a divider counts. Chosen.
constexpr double kFewestCycles = 16.0;
constexpr int kMostHarmonic = 32;
/// Of the fundamental's deviation: a triangle's third harmonic, how far one may
/// be off it, and what no triangle and no sine have. Chosen, but for 1/9.
constexpr double kTriangleThird = 1.0 / 9.0;
constexpr double kSameThird = 0.03;
constexpr double kNoSecond = 0.1;

/// The harmonic of the fundamental that a line is, 0 if none.
int harmonic_of(const SpectralLine& line, const SpectralLine& fundamental) {
  const double ratio = std::round(line.frequency / fundamental.frequency);
  const auto n = static_cast<int>(std::min(ratio, kMostHarmonic + 1.0));
  if (n < 1 || n > kMostHarmonic) return 0;
  const double off = std::abs(line.frequency - n * fundamental.frequency);
  const double unsure = 3.0 * n * fundamental.standard_uncertainty_hz;
  return off <= line.bin_hz + unsure ? n : 0;
}

/// Deviation of the frequency by the n-th harmonic over that by the
/// fundamental, 0 where it is not seen.
struct Ratio {
  double value = 0.0;
  double uncertainty = 0.0;
};

Ratio deviation_ratio(const std::vector<SpectralLine>& lines,
                      const SpectralLine& fundamental, int n) {
  Ratio ratio;
  for (const SpectralLine& line : lines) {
    if (harmonic_of(line, fundamental) != n) continue;
    const double value = n * line.amplitude / fundamental.amplitude;
    if (value <= ratio.value) continue;
    ratio.value = value;
    ratio.uncertainty = n * line.amplitude_uncertainty / fundamental.amplitude;
  }
  return ratio;
}

/// In: hidden  amplitude that a third harmonic may have unseen
SpreadProfile profile_of(const std::vector<SpectralLine>& lines,
                         const SpectralLine& fundamental, double hidden) {
  const Ratio second = deviation_ratio(lines, fundamental, 2);
  const Ratio third = deviation_ratio(lines, fundamental, 3);
  if (second.value > kNoSecond) return SpreadProfile::kOther;
  if (third.value == 0.0) {
    return 3.0 * hidden / fundamental.amplitude < kTriangleThird - kSameThird
               ? SpreadProfile::kSine
               : SpreadProfile::kNotSeen;
  }
  const double near = std::max(kSameThird, 3.0 * third.uncertainty);
  if (std::abs(third.value - kTriangleThird) <= near) {
    return SpreadProfile::kTriangle;
  }
  return third.value < kSameThird ? SpreadProfile::kSine
                                  : SpreadProfile::kOther;
}

/// Depth over that of the fundamental alone.
struct DepthFactor {
  double value = 1.0;
  double uncertainty = 0.0;  ///< standard
};

/// All harmonics that show at their peaks at once, and those beyond the last:
/// with steps of two a 1/n² has a sum of n/2 times the last.
DepthFactor of_cusps(const std::vector<SpectralLine>& lines,
                     const SpectralLine& fundamental) {
  DepthFactor factor;
  double last = 0.0, last_n = 1.0;
  for (int n = 2; n <= kMostHarmonic; ++n) {
    const double d = deviation_ratio(lines, fundamental, n).value;
    if (d == 0.0) continue;
    factor.value += d;
    last = d;
    last_n = n;
  }
  factor.value += 0.5 * last_n * last;
  // Down to a flat top, which harmonics take off; no profile has less than a
  // square; rectangular.
  const double least = std::max(kSquare, 2.0 - factor.value);
  factor.uncertainty = (factor.value - least) / std::numbers::sqrt3;
  return factor;
}

/// Harmonics that show add to a sine or take off, as a third that does not.
DepthFactor of_sine(const std::vector<SpectralLine>& lines,
                    const SpectralLine& fundamental, double hidden) {
  double sum = 3.0 * hidden / fundamental.amplitude;
  for (int n = 2; n <= kMostHarmonic; ++n) {
    sum += deviation_ratio(lines, fundamental, n).value;
  }
  return {1.0, sum / std::numbers::sqrt3};
}

DepthFactor depth_factor(SpreadProfile profile,
                         const std::vector<SpectralLine>& lines,
                         const SpectralLine& fundamental, double hidden) {
  constexpr double kTriangle = kPi * kPi / 8.0;
  if (profile == SpreadProfile::kTriangle) return {kTriangle, 0.0};
  if (profile == SpreadProfile::kSine) {
    return of_sine(lines, fundamental, hidden);
  }
  if (profile == SpreadProfile::kOther) return of_cusps(lines, fundamental);
  // Anything from a sine to a cusp whose third harmonic is hidden; a quarter is
  // that of the sharpest in use. Common practice, no source.
  constexpr double kMostThird = 0.25;
  const double third =
      std::min(kMostThird, 3.0 * hidden / fundamental.amplitude);
  const double most = std::max(kTriangle, 1.0 + 2.5 * third);
  return {0.5 * (1.0 + most), 0.5 * (most - 1.0) / std::numbers::sqrt3};
}

/// In: deviation  relative, either way
bool may_be_spread(const SpectralLine& line, double deviation) {
  return line.amplitude >= kFarAbove * line.amplitude_uncertainty &&
         line.false_alarm <= kMostFalseAlarm && line.frequency >= kLeastRate &&
         2.0 * deviation >= kLeastDepth && 2.0 * deviation <= kMostDepth;
}

/// Faster lines may be stronger: they are spurs.
const SpectralLine* strongest_to(const std::vector<SpectralLine>& lines,
                                 double fastest) {
  const SpectralLine* strongest = nullptr;
  for (const SpectralLine& line : lines) {
    if (line.frequency > fastest) continue;
    if (strongest == nullptr || line.amplitude > strongest->amplitude) {
      strongest = &line;
    }
  }
  return strongest;
}

}  // namespace

std::optional<FoundSpread> find_spread(const std::vector<SpectralLine>& lines,
                                       double clock_hz, double slower,
                                       const HiddenAmplitude& hidden_at) {
  const SpectralLine* strongest =
      strongest_to(lines, std::min(kMostRate, clock_hz / kFewestCycles));
  if (strongest == nullptr) return std::nullopt;
  const double deviation =
      2.0 * kPi * strongest->frequency * strongest->amplitude;
  if (!may_be_spread(*strongest, deviation)) return std::nullopt;
  // It may be a harmonic of what is slower, and stronger.
  if (strongest->amplitude < slower) return std::nullopt;
  FoundSpread found;
  SpreadSpectrum& s = found.spread;
  const double hidden = hidden_at(3.0 * strongest->frequency);
  s.profile = profile_of(lines, *strongest, hidden);
  const DepthFactor factor = depth_factor(s.profile, lines, *strongest, hidden);
  const double depth = 2.0 * deviation * factor.value;
  if (depth > kMostDepth) return std::nullopt;
  const double relative =
      std::hypot(strongest->amplitude_uncertainty / strongest->amplitude,
                 strongest->standard_uncertainty_hz / strongest->frequency,
                 factor.uncertainty / factor.value);
  s.rate = Hertz(strongest->frequency);
  s.rate_uncertainty = Hertz(strongest->standard_uncertainty_hz);
  s.depth = Ppm(1e6 * depth);
  s.depth_uncertainty = Ppm(1e6 * depth * relative);
  s.lowest = Hertz(clock_hz * (1.0 - 0.5 * depth));
  s.highest = Hertz(clock_hz * (1.0 + 0.5 * depth));
  for (const SpectralLine& line : lines) {
    found.is_harmonic.push_back(harmonic_of(line, *strongest) != 0);
  }
  return found;
}

}  // namespace clockassay
