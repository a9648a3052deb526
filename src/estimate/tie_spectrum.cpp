// SPDX-License-Identifier: GPL-3.0-or-later
#include "clockassay/estimate/tie_spectrum.h"

#include <algorithm>
#include <cmath>
#include <numbers>
#include <utility>

#include "base/median.h"
#include "clockassay/estimate/edge_line.h"
#include "clockassay/estimate/edge_sums.h"
#include "clockassay/estimate/time_interval_error.h"
#include "estimate/sampling_hidden.h"
#include "estimate/sampling_images.h"
#include "estimate/sampling_resonance.h"
#include "estimate/spectrum_scales.h"
#include "estimate/spread_spectrum.h"
#include "estimate/spur_sorting.h"

namespace clockassay {
namespace {

constexpr std::size_t kMostBands = 1000;
/// Time-interval errors are rounded by less than this [ticks].
constexpr double kRounding = 1e-9;
/// No line of this part of a window is told from rounding.
constexpr double kLeastOfWindow = 1e-6;
/// Of the jitter that the floor shows, what is sure. Chosen: without jitter the
/// floor is made of images that are too many to be told apart.
constexpr double kSureOfJitter = 0.3;
/// No line that sampling makes is larger, in windows: what moves edges by half
/// a window to either side at most has sinusoids of 4/pi of that at most.
constexpr double kMostByWindow = 2.0 / std::numbers::pi;

/// Floor of the bins that are used of a scale.
std::vector<double> used_floor(const SpectrumScale& scale) {
  const SearchedDensity& s = scale.searched;
  return {s.floor.level.begin() + static_cast<std::ptrdiff_t>(s.first),
          s.floor.level.begin() + static_cast<std::ptrdiff_t>(s.last + 1)};
}

/// Amplitude of a sinusoid that has that density at its frequency.
double amplitude_of(double density, const SpectrumScale& scale) {
  return std::sqrt(2.0 * density * scale.periodogram.resolution_hz);
}

/// The one that is used at that frequency, and the nearest bin.
std::pair<const SpectrumScale*, std::size_t> bin_at(const SpectrumScales& all,
                                                    double frequency) {
  const SpectrumScale* scale = &all.fine;
  if (all.coarse &&
      frequency <= static_cast<double>(all.coarse->searched.last) *
                       all.coarse->searched.bin_hz) {
    scale = &*all.coarse;
  }
  const auto bin =
      static_cast<std::size_t>(frequency / scale->searched.bin_hz + 0.5);
  return {scale, std::min(bin, scale->searched.density.size() - 1)};
}

class Bands {
 public:
  Bands(double from, double to, double unit)
      : from_(from),
        step_(std::log(to / from) / static_cast<double>(kMostBands)),
        unit_(unit) {}

  /// By increasing frequency.
  void add(double frequency, double density) {
    const auto band =
        static_cast<std::int64_t>(std::log(frequency / from_) / step_);
    if (band != band_) finish();
    band_ = band;
    if (bins_ == 0) first_ = frequency;
    last_ = frequency;
    ++bins_;
    sum_ += density;
    most_ = std::max(most_, density);
  }

  std::vector<SpectrumBand> take() {
    finish();
    return std::move(bands_);
  }

 private:
  void finish() {
    if (bins_ > 0) {
      bands_.push_back({Hertz(0.5 * (first_ + last_)),
                        unit_ * sum_ / static_cast<double>(bins_),
                        unit_ * most_});
    }
    bins_ = 0;
    sum_ = most_ = 0.0;
  }

  double from_, step_, unit_;
  std::int64_t band_ = -1, bins_ = 0;
  double first_ = 0.0, last_ = 0.0, sum_ = 0.0, most_ = 0.0;
  std::vector<SpectrumBand> bands_;
};

std::vector<SpectrumBand> bands_of(const SpectrumScales& all, double rate,
                                   double unit) {
  const SpectrumScale& lowest = all.lowest();
  Bands bands(static_cast<double>(lowest.shown_first) * lowest.searched.bin_hz,
              0.5 * rate, unit);
  const auto add = [&](const SpectrumScale& scale, std::size_t from,
                       std::size_t end) {
    for (std::size_t i = from; i < end; ++i) {
      bands.add(static_cast<double>(i) * scale.searched.bin_hz,
                scale.searched.density[i]);
    }
  };
  if (all.coarse) {
    add(*all.coarse, all.coarse->shown_first, all.coarse->searched.last + 1);
  }
  const SpectrumScale& fine = all.fine;
  add(fine, all.coarse ? fine.searched.first : fine.shown_first,
      fine.searched.last);
  // The last bin is shown as a one-sided density has it.
  bands.add(static_cast<double>(fine.searched.last) * fine.searched.bin_hz,
            fine.periodogram.density.back());
  return bands.take();
}

TieSpectrum::Scale describe(const SpectrumScale& s) {
  TieSpectrum::Scale scale;
  scale.cycles = s.cycles;
  scale.segment = s.window.size();
  scale.segments = s.periodogram.segments;
  scale.left_out = s.periodogram.left_out;
  scale.resolution = Hertz(s.periodogram.resolution_hz);
  scale.from = Hertz(static_cast<double>(s.shown_first) * s.searched.bin_hz);
  scale.to = Hertz(static_cast<double>(s.searched.last) * s.searched.bin_hz);
  return scale;
}

/// How far movement below the bins that say anything moves the period, rms
/// [ticks]. Lines in those bins have sidelines.
double slow_wander(const SpectrumScales& all, double rate) {
  const SpectrumScale& lowest = all.lowest();
  const SearchedDensity& s = lowest.searched;
  double squares = 0.0;
  for (std::size_t i = 1; i < lowest.shown_first; ++i) {
    const double angular =
        2.0 * std::numbers::pi * static_cast<double>(i) * s.bin_hz;
    squares += s.density[i] * angular * angular * s.bin_hz;
  }
  return std::sqrt(squares) / rate;
}

/// Excess kurtosis of second differences of the phases, about 65 536 of them in
/// 16 parts; 0 where there are none.
double excess_of(const TimeIntervalErrors& errors) {
  constexpr std::int64_t kParts = 16, kOfPart = 4096;
  const std::int64_t part = std::min(kOfPart, errors.count() / kParts);
  if (part < 3) return 0.0;
  std::vector<double> x(static_cast<std::size_t>(part));
  double second = 0.0, fourth = 0.0, n = 0.0;
  for (std::int64_t p = 0; p < kParts; ++p) {
    errors.read((errors.count() - part) * p / (kParts - 1), x);
    for (std::size_t i = 2; i < x.size(); ++i) {
      const double d = x[i] - 2.0 * x[i - 1] + x[i - 2];
      if (std::isnan(d)) continue;
      second += d * d;
      fourth += d * d * d * d;
      n += 1.0;
    }
  }
  return second > 0.0 ? fourth * n / (second * second) - 3.0 : 0.0;
}

/// The floor is jitter of every edge alike: second differences have no longer
/// tails than normal jitter and samples give them. Where it comes in bursts,
/// the quiet edges have images as if there were none.
/// In:     jitter [samples]
/// Source: simulated captures of 60 000 edges, excess up to 5.9 at 0.1 samples,
///         2.9 at 0.15, 1.5 at 0.2, 0.2 at 0.3;
///         docs/spectrum.md#sampling-images
bool is_even_jitter(double excess, double jitter) {
  const double part = jitter / 0.17;
  return excess <= 0.5 + 9.0 * std::exp(-part * part);
}

/// How the clock meets samples and text, where that is known.
std::optional<SampledClock> sampled_clock(const TieSpectrumInput& input,
                                          const SpectrumScales& all,
                                          double rate, double excess) {
  if (!input.sample_ticks) return std::nullopt;
  const double interval = *input.sample_ticks;
  const double text = input.window_ticks - interval;
  constexpr double kSame = 1e-6;  // windows are rounded
  const auto n = static_cast<double>(all.fine.window.size());
  const double by_sampling = kSlopeBySampling * input.window_ticks / n;
  const double wander = std::max(
      0.0, std::max(all.fine.periodogram.slope_spread, slow_wander(all, rate)) -
               by_sampling);
  const double variance = 0.5 * rate * median(used_floor(all.fine));
  constexpr double kCoverageFactor = 2.0;
  SampledClock clock;
  clock.rate = rate;
  clock.samples = input.period_ticks / interval;
  clock.uncertainty =
      kCoverageFactor * (input.period_uncertainty_ticks + wander) / interval;
  clock.interval = interval;
  if (text > kSame * interval) clock.text_steps = interval / text;
  const double window = input.window_ticks;
  const double jitter =
      jitter_of(variance / (window * window), 1) * window / interval;
  if (is_even_jitter(excess, jitter)) clock.likely_jitter = jitter;
  clock.jitter = kSureOfJitter * clock.likely_jitter;
  return clock;
}

/// Lines, from the first bin that says anything on: those below what is looked
/// at for spurs are needed for their sidelines.
std::vector<SpectralLine> all_lines(const SpectrumScales& all,
                                    const TieSpectrumInput& input,
                                    double most_false_alarms) {
  std::vector<SpectralLine> lines;
  const auto add = [&](const SpectrumScale& scale,
                       const SearchedDensity& searched) {
    for (const SpectralLine& line : find_lines(
             searched, scale.window, all.searched(), most_false_alarms)) {
      if (line.amplitude < kLeastOfWindow * input.window_ticks) continue;
      lines.push_back(line);
    }
  };
  const SpectrumScale& lowest = all.lowest();
  SearchedDensity from_low = lowest.searched;
  from_low.first = lowest.shown_first;
  add(lowest, from_low);
  if (all.coarse) add(all.fine, all.fine.searched);
  return lines;
}

Spur in_seconds(const SpectralLine& line, double tick_s, double rate) {
  Spur spur;
  spur.frequency = Hertz(line.frequency);
  spur.frequency_uncertainty = Hertz(line.standard_uncertainty_hz);
  spur.peak = Seconds(line.amplitude * tick_s);
  spur.peak_uncertainty = Seconds(line.amplitude_uncertainty * tick_s);
  spur.rms = Seconds(line.amplitude * tick_s / std::numbers::sqrt2);
  spur.sideband_dbc =
      20.0 * std::log10(std::numbers::pi * rate * line.amplitude * tick_s);
  spur.false_alarm = line.false_alarm;
  return spur;
}

/// Amplitude that a line there may have unseen [ticks].
double hidden_at(const SpectrumScales& all, double frequency) {
  const auto [scale, bin] = bin_at(all, frequency);
  constexpr double kAbove = 3.0;  // times what is there; chosen: lines stand
                                  // out of the floor by about as much
  return amplitude_of(kAbove * scale->searched.density[bin], *scale);
}

SamplingImage image_in_seconds(const ImageLine& image,
                               const SortedLines& sorted, double tick_s) {
  SamplingImage to;
  to.frequency = Hertz(image.line.frequency);
  to.peak = Seconds(image.line.amplitude * tick_s);
  to.harmonic = image.name.harmonic;
  to.text_harmonic = image.name.text_harmonic;
  to.sideline = image.name.sideline;
  if (image.name.of_spur) {
    to.of = Hertz(sorted.spurs[*image.name.of_spur].line.frequency);
  }
  return to;
}

/// The strongest image that one spur gives a harmonic, if it is of the spur's
/// size.
std::optional<Hertz> twin_of(const SortedLines& sorted, std::size_t spur) {
  const SpectralLine& own = sorted.spurs[spur].line;
  const SpectralLine* twin = nullptr;
  for (const ImageLine& image : sorted.images) {
    const ImageName& name = image.name;
    if (name.of_spur != spur || std::abs(name.sideline) != 1 || name.mixed) {
      continue;
    }
    if (!may_be_as_large(image.line, own)) continue;
    if (twin == nullptr || image.line.amplitude > twin->amplitude) {
      twin = &image.line;
    }
  }
  return twin ? std::optional(Hertz(twin->frequency)) : std::nullopt;
}

/// The largest amplitude in the bins below those that are looked at for lines
/// [ticks].
double slower_amplitude(const SpectrumScales& all) {
  const SpectrumScale& lowest = all.lowest();
  const auto& density = lowest.searched.density;
  const auto end =
      density.begin() + static_cast<std::ptrdiff_t>(
                            std::min(lowest.searched.first, density.size()));
  if (end - density.begin() < 2) return 0.0;
  return amplitude_of(*std::max_element(density.begin() + 1, end), lowest);
}

/// Spurs, what may be no more than images, and which of them are a spread. What
/// is slower than lines are looked for is left out, but for its sidelines.
void take_spurs(const SortedLines& sorted, const SpectrumScales& all,
                double tick_s, double rate, TieSpectrum& out) {
  std::vector<SpectralLine> spurs;  // [s]
  std::vector<std::size_t> which;
  for (std::size_t i = 0; i < sorted.spurs.size(); ++i) {
    const auto& [line, perhaps] = sorted.spurs[i];
    if (line.frequency < out.searched_from.value()) continue;
    if (perhaps) {
      out.sampling_images.push_back(
          image_in_seconds({line, *perhaps}, sorted, tick_s));
      out.sampling_images.back().may_be_spur = true;
      continue;
    }
    which.push_back(i);
    spurs.push_back(line);
    spurs.back().amplitude *= tick_s;
    spurs.back().amplitude_uncertainty *= tick_s;
  }
  const auto spread = find_spread(
      spurs, rate, tick_s * slower_amplitude(all), [&](double frequency) {
        return tick_s *
               std::max(hidden_at(all, frequency), sorted.unsorted_up_to);
      });
  if (spread) out.spread = spread->spread;
  for (std::size_t i = 0; i < spurs.size(); ++i) {
    if (spread && spread->is_harmonic[i]) continue;
    out.spurs.push_back(in_seconds(sorted.spurs[which[i]].line, tick_s, rate));
    out.spurs.back().may_be = twin_of(sorted, which[i]);
  }
}

void take_lines(const SortedLines& sorted, const SpectrumScales& all,
                double tick_s, double rate, TieSpectrum& out) {
  take_spurs(sorted, all, tick_s, rate, out);
  for (const SpectralLine& line : sorted.unsorted) {
    if (line.frequency < out.searched_from.value()) continue;
    out.unsorted.push_back(in_seconds(line, tick_s, rate));
  }
  for (const ImageLine& image : sorted.images) {
    if (image.line.frequency < out.searched_from.value()) continue;
    out.sampling_images.push_back(image_in_seconds(image, sorted, tick_s));
  }
  const auto larger = [](const auto& a, const auto& b) {
    return a.peak > b.peak;
  };
  std::stable_sort(out.spurs.begin(), out.spurs.end(), larger);
  std::stable_sort(out.sampling_images.begin(), out.sampling_images.end(),
                   larger);
}

TieSpectrum describe_spectrum(const SpectrumScales& all, double rate,
                              double unit) {
  TieSpectrum out;
  out.fine = describe(all.fine);
  if (all.coarse) {
    out.coarse = describe(*all.coarse);
    out.fine.from = out.coarse->to;
  }
  std::vector<double> floor = used_floor(all.fine);
  out.floor = unit * median(floor);
  out.root_floor = std::sqrt(out.floor);
  out.floor_rms = Seconds(std::sqrt(0.5 * rate * out.floor));
  out.bands = bands_of(all, rate, unit);
  const SearchedDensity& lowest = all.lowest().searched;
  out.searched_from = Hertz(static_cast<double>(lowest.first) * lowest.bin_hz);
  return out;
}

}  // namespace

Result<TieSpectrum> tie_spectrum(const EdgeView& view,
                                 const TieSpectrumInput& input,
                                 const TieSpectrumOptions& options,
                                 const ParallelFor& parallel_for) {
  const auto sums = sum_edges(view, parallel_for);
  if (!sums) return tl::unexpected(sums.error());
  const double slope =
      input.period_ticks - static_cast<double>(sums->frame.period);
  const TimeIntervalErrors errors(view, *sums, slope, 0.0);
  const double rate = 1.0 / (input.period_ticks * input.tick_s);
  const auto scales = form_scales(
      [&](std::int64_t at, std::span<double> out) { errors.read(at, out); },
      errors.count(), rate, 2.0 * kRounding * kRounding / rate,
      options.longest_segment, parallel_for);
  if (!scales) return tl::unexpected(scales.error());
  TieSpectrum out =
      describe_spectrum(*scales, rate, input.tick_s * input.tick_s);
  out.lost_cycles = errors.count() - sums->rise.n;
  out.most_false_alarms = options.most_false_alarms;
  out.sampling_known = input.sample_ticks.has_value();
  out.interpolated = input.interpolated;
  const double floor = median(used_floor(scales->fine));
  const SortedLines sorted =
      sort_lines(all_lines(*scales, input, options.most_false_alarms),
                 sampled_clock(input, *scales, rate, excess_of(errors)),
                 {amplitude_of(floor, scales->lowest()),
                  kMostByWindow * input.window_ticks});
  take_lines(sorted, *scales, input.tick_s, rate, out);
  return out;
}

}  // namespace clockassay
