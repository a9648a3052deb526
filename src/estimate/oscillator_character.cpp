// SPDX-License-Identifier: GPL-3.0-or-later
#include "clockassay/estimate/oscillator_character.h"

#include <algorithm>
#include <cmath>
#include <numbers>

#include "clockassay/estimate/frequency_estimate.h"
#include "estimate/deviation_confidence.h"
#include "estimate/formatted_text.h"

namespace clockassay {
namespace {

/// The longest tau at which something can be said of the wander.
struct LongTau {
  const StabilityPoint* point = nullptr;
  double mdev_low = 0.0;  ///< 95 % interval
  double mdev_high = 0.0;
};

std::optional<LongTau> long_tau(const CharacterInput& input) {
  const auto& points = input.stability->octaves;
  const auto at =
      std::find_if(points.rbegin(), points.rend(), [](const StabilityPoint& p) {
        return p.mdev && p.noise && *p.mdev > 0.0;
      });
  if (at == points.rend()) return std::nullopt;
  const std::int64_t m = std::llround(at->tau / input.period);
  // Means over tau hide what the knots of a reference make neighbours share.
  DifferenceVariance variance;
  variance.averaging = 1.0;
  variance.stride = std::max<std::int64_t>(1, m / at->decimation);
  variance.terms =
      std::max<std::int64_t>(1, (input.cycles - 3 * m + 1) / at->decimation);
  const DeviationInterval interval = deviation_interval(
      equivalent_dof(*at->noise, variance), kHalfWidthCoverage);
  return LongTau{&*at, *at->mdev * interval.low, *at->mdev * interval.high};
}

bool is_of_frequency(NoiseKind noise) {
  return noise == NoiseKind::kWhiteFrequency ||
         noise == NoiseKind::kFlickerFrequency ||
         noise == NoiseKind::kWalkFrequency;
}

std::string wander_said(const LongTau& t) {
  return formatted_text(
      "over %.3g s the frequency wanders by %.2g (%.2g to %.2g, modified Allan "
      "deviation, 95 %%)",
      t.point->tau.value(), *t.point->mdev, t.mdev_low, t.mdev_high);
}

/// A steady drift, which the Allan deviation sees and the Hadamard deviation
/// does not: the relative change of the frequency in the whole view.
std::optional<double> drift_over_all(const CharacterInput& input,
                                     const StabilityPoint& p) {
  constexpr double kFarAbove = 3.0;  // chosen: nine tenths of the variance
  if (!p.adev || !p.hdev || !p.adev_low) return std::nullopt;
  if (*p.adev_low < kFarAbove * *p.hdev) return std::nullopt;
  // Of a drift D a second the Allan deviation is D tau / sqrt(2).
  const double a_second = *p.adev * std::numbers::sqrt2 / p.tau.value();
  return a_second * static_cast<double>(input.cycles) * input.period.value();
}

/// What lines say by themselves; absent: nothing.
std::optional<OscillatorCharacter> of_spread(const TieSpectrum* spectrum) {
  if (spectrum == nullptr || !spectrum->spread) return std::nullopt;
  const SpreadSpectrum& s = *spectrum->spread;
  return OscillatorCharacter{
      CharacterKind::kSpreadSpectrum,
      {formatted_text(
          "the frequency goes up and down %.5g times a second by %.4g ppm in "
          "all",
          s.rate.value(), s.depth.value())}};
}

/// Sampling has made no such line.
bool is_of_the_clock(const TieSpectrum& spectrum, const Spur& spur) {
  return spectrum.sampling_known || spur.peak > spectrum.most_by_sampling;
}

std::string spur_said(const TieSpectrum& spectrum) {
  const Spur& s = spectrum.spurs.front();
  return formatted_text("a line at %.6g Hz of %.3g ps peak, %.1f dBc",
                        s.frequency.value(), s.peak.value() * 1e12,
                        s.sideband_dbc);
}

/// Movement that is neither in the floor of the spectrum nor in its lines nor
/// made by sampling: it is slower than lines are looked for.
std::optional<std::string> unexplained(const CharacterInput& input) {
  constexpr double kMost = 3.0;  // chosen: nine tenths of the variance
  if (input.spectrum == nullptr) return std::nullopt;
  const double floor = input.spectrum->floor_rms.value();
  const double window = input.window.value();
  double squares = floor * floor + window * window / 12.0;
  for (const Spur& s : input.spectrum->spurs) {
    squares += s.rms.value() * s.rms.value();
  }
  if (input.tie_rms.value() < kMost * std::sqrt(squares)) return std::nullopt;
  return formatted_text(
      "most of the time-interval error, %.3g ns rms, moves slower than the "
      "%.3g "
      "Hz from which on lines can be told: a longer capture tells what it is",
      input.tie_rms.value() * 1e9, input.spectrum->searched_from.value());
}

OscillatorCharacter of_drift(double drift) {
  return {CharacterKind::kSlewing,
          {formatted_text("the frequency moves steadily, by %.3g ppm from the "
                          "first edge to the last",
                          drift * 1e6)}};
}

/// What is neither spread nor on its way.
OscillatorCharacter of_wander(const CharacterInput& input, const LongTau& t) {
  OscillatorCharacter c;
  c.evidence = {wander_said(t)};
  const bool has_spur = input.spectrum && !input.spectrum->spurs.empty();
  if (t.mdev_low > kRcLikeAbove && is_of_frequency(*t.point->noise)) {
    c.kind = CharacterKind::kRcLike;
    c.evidence.push_back(
        "what one period adds the next does not take back: noise of the "
        "frequency");
  } else if (const auto slow = unexplained(input)) {
    c.evidence.push_back(*slow);
  } else if (has_spur) {
    if (is_of_the_clock(*input.spectrum, input.spectrum->spurs.front())) {
      c.kind = CharacterKind::kPllWithSpur;
    } else {
      c.evidence.emplace_back(
          "lines are no larger than sampling makes them, and are not told from "
          "those");
    }
  } else if (t.mdev_high < kCrystalLikeBelow) {
    c.kind = CharacterKind::kCrystalLike;
  } else {
    c.evidence.push_back(formatted_text(
        "above %.0e it would be RC-like, below %.0e crystal-like: a longer "
        "capture, or one sampled faster, tells more",
        kRcLikeAbove, kCrystalLikeBelow));
  }
  if (has_spur) c.evidence.push_back(spur_said(*input.spectrum));
  if (!input.spectrum) c.evidence.emplace_back("lines were not looked for");
  return c;
}

}  // namespace

OscillatorCharacter describe_character(const CharacterInput& input) {
  constexpr double kSlewsAbove = 5e-6;  // chosen: no crystal warms up so fast
  if (auto spread = of_spread(input.spectrum)) return *spread;
  const auto t = long_tau(input);
  if (!t) {
    return {CharacterKind::kCannotTell,
            {"too few cycles in a row to say how the frequency wanders"}};
  }
  const auto drift = drift_over_all(input, *t->point);
  if (drift && *drift > kSlewsAbove) return of_drift(*drift);
  return of_wander(input, *t);
}

}  // namespace clockassay
