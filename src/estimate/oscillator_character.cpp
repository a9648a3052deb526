// SPDX-License-Identifier: GPL-3.0-or-later
#include "clockassay/estimate/oscillator_character.h"

#include <algorithm>
#include <cmath>
#include <numbers>

#include "clockassay/base/number_text.h"
#include "clockassay/base/prefixed_number.h"
#include "clockassay/estimate/frequency_estimate.h"
#include "estimate/deviation_confidence.h"
#include "estimate/formatted_text.h"
#include "estimate/frequency_drift.h"
#include "estimate/sampling_hidden.h"

namespace clockassay {
namespace {

/// Noise of the frequency shows over three octaves of tau.
constexpr double kOctaves = 8.0 * (1.0 - 1e-6);
/// Chosen: no crystal warms up so fast.
constexpr Ppm kSlewsAbove{5.0};
/// Of the variance of the frequency. Chosen.
constexpr double kDriftExplains = 0.9;

std::int64_t cycles_of(const CharacterInput& input, const StabilityPoint& p) {
  return std::max<std::int64_t>(1, std::llround(p.tau / input.period));
}

/// The mean error of that many edges is off that of many by no more [s].
double mean_error(const CharacterInput& input, std::int64_t cycles) {
  if (!input.sample_interval) return 0.5 * input.window.value();
  const double interval = input.sample_interval->value();
  SamplerSweep sweep;
  sweep.samples = input.period.value() / interval;
  // However it wanders, as long as it is not clearly RC-like.
  sweep.uncertainty = kSlopeBySampling / static_cast<double>(input.cycles) +
                      kRcLikeAbove * sweep.samples;
  const double of_text = 0.5 * std::max(0.0, input.window.value() - interval);
  return interval * mean_error_bound(sweep, cycles) + of_text;
}

/// What sampling may add to a modified Allan deviation, or take from it: means
/// of m errors differ from theirs by e at most, second differences by 4 e.
double sampling_bound(const CharacterInput& input, const StabilityPoint& p) {
  const double error = mean_error(input, cycles_of(input, p));
  return 4.0 * error / (std::numbers::sqrt2 * p.tau.value());
}

/// 95 % interval of the modified Allan deviation, if its noise is that. Means
/// over tau hide what the knots of a reference make neighbours share.
DeviationInterval interval_at(const CharacterInput& input,
                              const StabilityPoint& p, NoiseKind noise) {
  const std::int64_t m = cycles_of(input, p);
  DifferenceVariance variance;
  variance.averaging = 1.0;
  variance.stride = std::max<std::int64_t>(1, m / p.decimation);
  variance.terms =
      std::max<std::int64_t>(1, (input.cycles - 3 * m + 1) / p.decimation);
  return deviation_interval(equivalent_dof(noise, variance),
                            kHalfWidthCoverage);
}

/// A steady drift: the relative change of the frequency in the whole view,
/// where sampling alone does not make it.
void add_drift(const CharacterInput& input, CharacterWander& w) {
  const auto& drift = input.stability->drift;
  if (!drift || drift->explained < kDriftExplains) return;
  const std::int64_t averaged =
      std::max<std::int64_t>(1, drift_mean_of(input.cycles));
  const double bound = drift_error_bound(mean_error(input, averaged),
                                         input.cycles, input.period.value());
  w.drift_sampling_bound = Ppm(1e6 * bound);
  if (std::abs(drift->change) > bound) w.drift = Ppm(1e6 * drift->change);
}

bool slews(const CharacterWander& w) {
  if (!w.drift) return false;
  return std::abs(w.drift->value()) - w.drift_sampling_bound.value() >=
         kSlewsAbove.value();
}

/// The longest tau at which something can be said of the wander.
std::optional<CharacterWander> find_wander(const CharacterInput& input) {
  const auto& points = input.stability->octaves;
  const auto at =
      std::find_if(points.rbegin(), points.rend(),
                   [](const StabilityPoint& p) { return p.mdev.has_value(); });
  if (at == points.rend()) return std::nullopt;
  // Where no kind fits, as if it were one whose interval is wide.
  const DeviationInterval interval =
      interval_at(input, *at, at->noise.value_or(NoiseKind::kWhiteFrequency));
  CharacterWander w;
  w.tau = at->tau;
  w.mdev = *at->mdev;
  w.mdev_low = *at->mdev * interval.low;
  w.mdev_high = *at->mdev * interval.high;
  w.sampling_bound = sampling_bound(input, *at);
  w.noise = at->noise;
  add_drift(input, w);
  return w;
}

/// Deviations of a clock as if its noise were white of the frequency, which
/// makes the intervals wide.
struct NoisePoint {
  double tau = 0.0;
  double low = 0.0;  ///< 95 % interval
  double high = 0.0;
  double bound = 0.0;  ///< what sampling may make of it
};

std::vector<NoisePoint> noise_points(const CharacterInput& input,
                                     const CharacterWander& w) {
  std::vector<NoisePoint> points;
  for (const StabilityPoint& p : input.stability->octaves) {
    if (!p.mdev || p.tau > w.tau) continue;
    const DeviationInterval interval =
        interval_at(input, p, NoiseKind::kWhiteFrequency);
    points.push_back({p.tau.value(), *p.mdev * interval.low,
                      *p.mdev * interval.high, sampling_bound(input, p)});
  }
  return points;
}

/// From some tau on, an eighth of the longest or less, it falls more slowly
/// than noise of the phase, does not rise, and is nowhere between so large that
/// noise of the frequency, which falls with the root of tau at most, would show
/// more at the longest: what falls faster goes back and forth.
bool falls_as_noise(const CharacterInput& input, const CharacterWander& w) {
  constexpr double kTwice = 2.0;  // chosen: noise of the phase is in it, too
  const std::vector<NoisePoint> points = noise_points(input, w);
  const NoisePoint& last = points.back();
  const double most = (last.high + last.bound) * std::sqrt(last.tau) * kTwice;
  for (std::size_t i = points.size() - 1; i-- > 0;) {
    const NoisePoint& p = points[i];
    if ((p.low - p.bound) * std::sqrt(p.tau) > most) return false;
    if (last.tau < kOctaves * p.tau) continue;
    if ((p.high + p.bound) * p.tau >= (last.low - last.bound) * last.tau) {
      continue;
    }
    return last.low - last.bound <= p.high + p.bound;
  }
  return false;
}

/// White noise of the phase at a tau, if the shortest tau shows nothing else:
/// it falls with tau^(3/2).
double white_phase(const CharacterInput& input, Seconds tau) {
  const StabilityPoint& first = input.stability->octaves.front();
  return first.adev.value_or(0.0) * std::pow(first.tau / tau, 1.5);
}

/// Most of the variance is neither white noise of the phase nor sampling.
bool is_of_frequency(const CharacterInput& input, const StabilityPoint& p) {
  constexpr double kAbove = 2.0;  // chosen
  return p.mdev && *p.mdev - sampling_bound(input, p) >
                       kAbove * white_phase(input, p.tau);
}

/// From an eighth of the longest tau on; at the longest nine tenths.
bool above_white_phase(const CharacterInput& input, const CharacterWander& w) {
  constexpr double kFarAbove = 3.0;  // chosen
  if (w.mdev_low <= kFarAbove * white_phase(input, w.tau)) return false;
  return std::all_of(input.stability->octaves.begin(),
                     input.stability->octaves.end(),
                     [&](const StabilityPoint& p) {
                       return kOctaves * p.tau.value() < w.tau.value() ||
                              p.tau > w.tau || is_of_frequency(input, p);
                     });
}

/// It grows faster somewhere than with a walk of the frequency, the root of
/// tau: hum, warming up or a slow modulation, with tau. Below half the longest
/// tau, beyond which chance does as much.
bool is_smooth(const CharacterInput& input, const CharacterWander& w) {
  constexpr double kGrows = 1.7;  // an octave; chosen between sqrt(2) and 2
  const auto& points = input.stability->octaves;
  for (std::size_t i = 1; i < points.size(); ++i) {
    const StabilityPoint& before = points[i - 1];
    const StabilityPoint& p = points[i];
    if (2.0 * p.tau.value() > w.tau.value() * (1.0 + 1e-6)) break;
    if (!is_of_frequency(input, before) || !is_of_frequency(input, p)) continue;
    if (*p.mdev > kGrows * *before.mdev) return true;
  }
  return false;
}

bool is_rc_like(const CharacterInput& input, const CharacterWander& w) {
  if (w.mdev_low - w.sampling_bound < kRcLikeAbove || w.drift) return false;
  return above_white_phase(input, w) && falls_as_noise(input, w) &&
         !is_smooth(input, w);
}

std::string wander_said(const CharacterWander& w) {
  const std::string over = "over " + prefixed_number(w.tau.value(), 4, "s");
  if (w.sampling_bound >= w.mdev) {
    return over +
           formatted_text(
               " the frequency seems to wander by %.2g (modified Allan "
               "deviation), which sampling alone may make: it may make, or "
               "hide, up to %.2g",
               w.mdev, w.sampling_bound);
  }
  return over + formatted_text(
                    " the frequency wanders by %.2g (%.2g to %.2g, modified "
                    "Allan deviation, 95 %%; up to %.2g may be by sampling)",
                    w.mdev, w.mdev_low, w.mdev_high, w.sampling_bound);
}

/// What lines say by themselves; absent: nothing.
std::optional<OscillatorCharacter> of_spread(const TieSpectrum* spectrum) {
  if (spectrum == nullptr || !spectrum->spread) return std::nullopt;
  const SpreadSpectrum& s = *spectrum->spread;
  OscillatorCharacter c;
  c.kind = CharacterKind::kSpreadSpectrum;
  c.evidence = {"the frequency goes up and down at " +
                prefixed_number(s.rate.value(), 5, "Hz") + " by " +
                number_text(s.depth.value(), 4) +
                " ppm of the mean one in all"};
  return c;
}

std::string spur_said(const TieSpectrum& spectrum) {
  const Spur& s = spectrum.spurs.front();
  std::string text = "a line at " +
                     prefixed_number(s.frequency.value(), 6, "Hz") + " of " +
                     prefixed_number(s.peak.value(), 3, "s") + " peak" +
                     formatted_text(", %.1f dBc", s.sideband_dbc);
  if (s.may_be) {
    text += ", or one at " + prefixed_number(s.may_be->value(), 6, "Hz") +
            " that sampling folds";
  }
  return text;
}

/// Movement that is neither in the floor of the spectrum nor in its lines nor
/// made by sampling: it is slower than lines are looked for.
std::optional<std::string> unexplained(const CharacterInput& input) {
  constexpr double kMost = 3.0;  // chosen: nine tenths of the variance
  if (input.spectrum == nullptr) return std::nullopt;
  const double floor = input.spectrum->floor_rms.value();
  const double window = input.window.value();
  double squares = floor * floor + window * window / 12.0;
  for (const auto* lines :
       {&input.spectrum->spurs, &input.spectrum->unsorted}) {
    for (const Spur& s : *lines) squares += s.rms.value() * s.rms.value();
  }
  if (input.tie_rms.value() < kMost * std::sqrt(squares)) return std::nullopt;
  return "most of the time-interval error, " +
         prefixed_number(input.tie_rms.value(), 3, "s") +
         " rms, moves slower than the " +
         prefixed_number(input.spectrum->searched_from.value(), 3, "Hz") +
         " from which on lines can be told: a longer capture tells what it is";
}

/// Why lines say nothing, where they do not. Those that sampling cannot have
/// made do.
std::optional<std::string> lines_unknown(const CharacterInput& input) {
  const TieSpectrum* s = input.spectrum;
  if (s == nullptr || s->unsorted.empty() || !s->spurs.empty()) {
    return std::nullopt;
  }
  return std::string(s->interpolated
                         ? "the lines may be made by interpolation between "
                           "samples"
                         : "the lines may be those of sampling: state "
                           "--sample-rate");
}

/// The strongest of the images that may be spurs.
std::optional<std::string> perhaps_spur(const CharacterInput& input) {
  if (input.spectrum == nullptr) return std::nullopt;
  const auto& images = input.spectrum->sampling_images;
  const auto at = std::find_if(
      images.begin(), images.end(),
      [](const SamplingImage& image) { return image.may_be_spur; });
  if (at == images.end()) return std::nullopt;
  return "the line at " + prefixed_number(at->frequency.value(), 6, "Hz") +
         " is made by sampling, or is a spur where sampling makes one: a "
         "slightly different sample rate tells";
}

/// Where neither end of the scale is reached.
std::string between_said(const CharacterWander& w) {
  std::string text = formatted_text(
      "above %.0e it would be RC-like, below %.0e crystal-like: a longer "
      "capture, or one sampled faster, tells more",
      kRcLikeAbove, kCrystalLikeBelow);
  if (w.mdev_low - w.sampling_bound >= kRcLikeAbove) {
    text =
        "it is not the noise of an RC oscillator: what moves it is slow, or "
        "goes back and forth";
  }
  return text;
}

CharacterKind by_steadiness(const CharacterInput& input,
                            const CharacterWander& w,
                            std::vector<std::string>& evidence) {
  const double most = w.mdev_high + w.sampling_bound;
  const auto unknown = lines_unknown(input);
  if (unknown) {
    evidence.push_back(*unknown);
    return CharacterKind::kCannotTell;
  }
  const bool has_spur = input.spectrum && !input.spectrum->spurs.empty();
  if (has_spur && most < kRcLikeAbove) return CharacterKind::kPllWithSpur;
  const auto perhaps = perhaps_spur(input);
  if (!has_spur && most < kCrystalLikeBelow && !perhaps) {
    return CharacterKind::kCrystalLike;
  }
  evidence.push_back(perhaps ? *perhaps : between_said(w));
  return CharacterKind::kCannotTell;
}

/// What is neither spread nor on its way.
void add_steadiness(const CharacterInput& input, const CharacterWander& w,
                    OscillatorCharacter& c) {
  c.evidence = {wander_said(w)};
  if (is_rc_like(input, w)) {
    c.kind = CharacterKind::kRcLike;
    c.evidence.emplace_back(
        "what one period adds the next does not take back: noise of the "
        "frequency");
  } else if (const auto slow = unexplained(input)) {
    c.evidence.push_back(*slow);
  } else {
    c.kind = by_steadiness(input, w, c.evidence);
  }
  if (input.spectrum && !input.spectrum->spurs.empty()) {
    c.evidence.push_back(spur_said(*input.spectrum));
  }
  if (!input.spectrum) c.evidence.emplace_back("lines were not looked for");
}

}  // namespace

OscillatorCharacter describe_character(const CharacterInput& input) {
  const auto wander = find_wander(input);
  if (auto spread = of_spread(input.spectrum)) {
    spread->wander = wander;
    return *spread;
  }
  OscillatorCharacter c;
  c.wander = wander;
  if (!wander) {
    c.evidence = {"too few cycles in a row to say how the frequency wanders"};
  } else if (slews(*wander)) {
    c.kind = CharacterKind::kSlewing;
    c.evidence = {
        formatted_text("the frequency moves steadily, by %.3g ppm from the "
                       "first edge to the last",
                       wander->drift->value())};
  } else {
    add_steadiness(input, *wander, c);
  }
  return c;
}

}  // namespace clockassay
