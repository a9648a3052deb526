// SPDX-License-Identifier: GPL-3.0-or-later
#include "estimate/spread_spectrum.h"

#include <algorithm>
#include <cmath>
#include <cstddef>
#include <numbers>

namespace clockassay {
namespace {

constexpr double kPi = std::numbers::pi;
/// Chosen: three times as large as all else is no jitter.
constexpr double kFarAbove = 3.0;
/// Chosen: clocks are spread by thousands of ppm, hum and ripple move them by
/// less than this.
constexpr double kLeastDepth = 1e-3;
/// Chosen: clocks are spread at tens of kHz, beyond what is heard; converters
/// and fractional dividers make lines above that move the frequency as far and
/// the edges hardly. Common practice, no source.
constexpr double kMostRate = 300e3;
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
  return off <= line.bin_hz + n * fundamental.bin_hz ? n : 0;
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

DepthFactor depth_factor(SpreadProfile profile) {
  constexpr double kTriangle = kPi * kPi / 8.0;
  if (profile == SpreadProfile::kTriangle) return {kTriangle, 0.0};
  if (profile != SpreadProfile::kNotSeen) return {1.0, 0.0};
  // Anything from a sine to a triangle, rectangular.
  return {0.5 * (1.0 + kTriangle),
          0.5 * (kTriangle - 1.0) / std::numbers::sqrt3};
}

}  // namespace

std::optional<FoundSpread> find_spread(const std::vector<SpectralLine>& lines,
                                       const SpreadSetting& setting) {
  const SpectralLine* strongest = nullptr;
  const double fastest = std::min(kMostRate, setting.clock_hz / kFewestCycles);
  for (const SpectralLine& line : lines) {
    if (line.frequency > fastest) continue;
    if (strongest == nullptr || line.amplitude > strongest->amplitude) {
      strongest = &line;
    }
  }
  if (strongest == nullptr) return std::nullopt;
  const double deviation =
      2.0 * kPi * strongest->frequency * strongest->amplitude;
  if (strongest->amplitude < kFarAbove * setting.rest_rms ||
      strongest->amplitude < kFarAbove * strongest->amplitude_uncertainty ||
      strongest->amplitude <= setting.by_sampling ||
      2.0 * deviation < kLeastDepth) {
    return std::nullopt;
  }
  FoundSpread found;
  SpreadSpectrum& s = found.spread;
  s.profile =
      profile_of(lines, *strongest, setting.hidden(3.0 * strongest->frequency));
  const DepthFactor factor = depth_factor(s.profile);
  const double depth = 2.0 * deviation * factor.value;
  const double relative =
      std::hypot(strongest->amplitude_uncertainty / strongest->amplitude,
                 strongest->standard_uncertainty_hz / strongest->frequency,
                 factor.uncertainty / factor.value);
  s.rate = Hertz(strongest->frequency);
  s.rate_uncertainty = Hertz(strongest->standard_uncertainty_hz);
  s.depth = Ppm(1e6 * depth);
  s.depth_uncertainty = Ppm(1e6 * depth * relative);
  s.lowest = Hertz(setting.clock_hz * (1.0 - 0.5 * depth));
  s.highest = Hertz(setting.clock_hz * (1.0 + 0.5 * depth));
  for (const SpectralLine& line : lines) {
    found.is_harmonic.push_back(harmonic_of(line, *strongest) != 0);
  }
  return found;
}

}  // namespace clockassay
