// SPDX-License-Identifier: GPL-3.0-or-later
#include <algorithm>
#include <cmath>
#include <cstddef>
#include <limits>
#include <optional>

#include "base/median.h"
#include "clockassay/report/chart.h"
#include "report/chart_parts.h"
#include "report/number_format.h"

namespace clockassay {
namespace {

constexpr double kNothing = std::numeric_limits<double>::quiet_NaN();

/// No edge is off the line by more than what the arithmetic rounds.
bool is_without_error(const std::vector<ShownError>& errors) {
  constexpr double kRounded = 16.0 * std::numeric_limits<double>::epsilon();
  return std::all_of(errors.begin(), errors.end(), [&](const ShownError& e) {
    const double rounded = kRounded * errors.back().to.value();
    return e.least.value() >= -rounded && e.most.value() <= rounded;
  });
}

Chart error_chart(const std::vector<ShownError>& errors,
                  const std::string& place) {
  std::vector<double> times, sizes;
  for (const ShownError& e : errors) {
    times.push_back(e.to.value());
    sizes.insert(sizes.end(), {e.least.value(), e.most.value()});
  }
  const ChartUnit time = unit_for(times, "s"), size = unit_for(sizes, "s");
  Chart chart;
  chart.id = "time-interval-error";
  chart.title = "Time-interval error, " + place;
  if (is_without_error(errors)) {
    chart.nothing =
        "There is none to show: every rising edge was seen exactly on the line "
        "through all of them, as where a period is a whole number of sampling "
        "intervals.";
    return chart;
  }
  chart.note =
      "How much later than the line through all of them rising edges were "
      "seen, from the least to the greatest in each part of the time. The "
      "instrument's own clock is in it. Where edges are sampled, steps of the "
      "sampling interval are the sampling's.";
  chart.x = {"time since the first stamp / " + time.name};
  chart.y = {"later than the line / " + size.name};
  ChartSeries band{"least to greatest", Drawn::kBand, {}, {}, {}, {}};
  for (const ShownError& e : errors) {
    band.x.push_back(0.5 * (e.from.value() + e.to.value()) / time.size);
    band.low.push_back(e.least.value() / size.size);
    band.high.push_back(e.most.value() / size.size);
  }
  chart.series = {std::move(band)};
  return chart;
}

Chart period_chart(const PeriodHistogram& periods, const std::string& place) {
  const auto bins = static_cast<double>(periods.counts.size());
  const double last = periods.first.value() + bins * periods.bin.value();
  const ChartUnit time = unit_for({last}, "s");
  Chart chart;
  chart.id = "periods";
  chart.title = "Periods, " + place;
  chart.note =
      "How many periods were so long, from each rising edge to the next. "
      "Sampled edges give multiples of the sampling interval.";
  chart.x = {"period / " + time.name};
  chart.y = {"periods"};
  ChartSeries steps{"", Drawn::kSteps, {}, {}, {}, {}};
  const auto edge = [&](double at, double count) {
    steps.x.push_back((periods.first.value() + at * periods.bin.value()) /
                      time.size);
    steps.y.push_back(count);
  };
  edge(-1.0, 0.0);
  for (std::size_t i = 0; i < periods.counts.size(); ++i) {
    edge(static_cast<double>(i), static_cast<double>(periods.counts[i]));
  }
  edge(bins, 0.0);
  edge(bins + 1.0, 0.0);
  chart.series = {std::move(steps)};
  return chart;
}

Chart stability_chart(const Stability& stability, const std::string& place) {
  Chart chart;
  chart.id = "allan-deviation";
  chart.title = "Allan deviation, " + place;
  chart.note =
      "Overlapping Allan deviation with its 95 % interval, and what sampling "
      "alone would make of it: near or below that the clock does not show. The "
      "instrument's own clock is in it unless a reference serves as time.";
  chart.x = {"averaging time / s", AxisScale::kLogarithmic};
  chart.y = {"Allan deviation", AxisScale::kLogarithmic};
  ChartSeries interval{"95 % interval", Drawn::kBand, {}, {}, {}, {}};
  ChartSeries deviation{"Allan deviation", Drawn::kLine, {}, {}, {}, {}};
  ChartSeries floor{"sampling alone", Drawn::kDashed, {}, {}, {}, {}};
  for (const StabilityPoint& p : stability.points) {
    if (!p.adev || *p.adev <= 0.0) continue;
    const double tau = p.tau.value();
    interval.x.push_back(tau);
    interval.low.push_back(p.adev_low.value_or(kNothing));
    interval.high.push_back(p.adev_high.value_or(kNothing));
    interval.open.push_back(0.5 * (interval.high.back() - interval.low.back()));
    deviation.x.push_back(tau);
    deviation.y.push_back(*p.adev);
    deviation.open.push_back(interval.open.back());
    if (!p.floor_adev) continue;
    floor.x.push_back(tau);
    floor.y.push_back(*p.floor_adev);
  }
  if (deviation.x.empty()) {
    chart.note.clear();
    chart.nothing =
        stability.points.empty()
            ? "There are too few cycles for an Allan deviation: five at least."
            : "At no averaging time is there an Allan deviation above zero: "
              "the edges do not scatter as far as the sampling shows.";
    return chart;
  }
  chart.series = {std::move(interval), std::move(deviation)};
  if (!floor.x.empty()) chart.series.push_back(std::move(floor));
  return chart;
}

/// The band that a line lies in, or the nearest.
std::size_t band_at(const std::vector<SpectrumBand>& bands, Hertz frequency) {
  const auto off = [frequency](const SpectrumBand& b) {
    return std::abs(std::log(b.frequency.value() / frequency.value()));
  };
  const auto nearest = std::min_element(
      bands.begin(), bands.end(),
      [&off](const auto& a, const auto& b) { return off(a) < off(b); });
  return static_cast<std::size_t>(nearest - bands.begin());
}

/// What stands out of its neighbours, apart where sampling makes it.
void add_standing_out(const TieSpectrum& spectrum, Chart& chart) {
  std::vector<bool> is_sampling(spectrum.bands.size(), false);
  for (const SamplingImage& image : spectrum.sampling_images) {
    // One that may as well be the clock's is not called sampling's.
    if (image.may_be_spur) continue;
    is_sampling[band_at(spectrum.bands, image.frequency)] = true;
  }
  // A line of the clock in the same band is marked as such.
  for (const Spur& spur : spectrum.spurs) {
    is_sampling[band_at(spectrum.bands, spur.frequency)] = false;
  }
  ChartSeries most{"largest of them", Drawn::kPoints, {}, {}, {}, {}};
  ChartSeries sampled{"made by sampling", Drawn::kSquares, {}, {}, {}, {}};
  for (std::size_t i = 0; i < spectrum.bands.size(); ++i) {
    const SpectrumBand& band = spectrum.bands[i];
    // Chosen: stands out. A line of sampling is marked however wide it is.
    if (!is_sampling[i] && band.most <= 4.0 * band.mean) continue;
    ChartSeries& s = is_sampling[i] ? sampled : most;
    s.x.push_back(band.frequency.value());
    s.y.push_back(std::sqrt(band.most));
  }
  if (!most.x.empty()) chart.series.push_back(std::move(most));
  if (!sampled.x.empty()) chart.series.push_back(std::move(sampled));
}

/// Upright lines, the strongest with a name.
void add_line_marks(const std::vector<Spur>& lines, const char* name,
                    Chart& chart) {
  constexpr std::size_t kMostNamed = 4;    // chosen: names stay apart
  constexpr std::size_t kMostMarked = 24;  // chosen, strongest first
  for (const Spur& line : lines) {
    if (chart.levels.size() > kMostMarked) break;
    const bool is_named = chart.levels.size() <= kMostNamed;
    const double f = line.frequency.value();
    const double u = line.frequency_uncertainty.value();
    chart.levels.push_back({!is_named     ? ""
                            : line.may_be ? std::string(name) + " or image"
                                          : name,
                            f, true, digits_within(f, f - u, f + u, 12)});
  }
}

Chart spectrum_chart(const TieSpectrum& spectrum, const std::string& place) {
  Chart chart;
  chart.id = "error-spectrum";
  chart.title = "Spectrum of the time-interval error, " + place;
  chart.note = "Amplitude spectral density. ";
  if (!spectrum.sampling_known) {
    chart.note +=
        "Upright lines are of the clock, the instrument or its sampling, which "
        "nothing here tells apart. ";
  } else if (spectrum.spurs.empty()) {
    chart.note +=
        "No line is the clock's or the instrument's, as far as noise and "
        "sampling let it show; what the sampling grid makes is in squares. ";
  } else {
    chart.note +=
        "Upright lines are the clock's own, or the instrument's; what the "
        "sampling grid makes is in squares. ";
  }
  chart.note +=
      "Frequencies in the capture's own time, up to half the clock's.";
  chart.x = {"frequency / Hz", AxisScale::kLogarithmic};
  chart.y = {"density / (s/\u221AHz)", AxisScale::kLogarithmic};
  ChartSeries mean{"mean of neighbours", Drawn::kLine, {}, {}, {}, {}};
  for (const SpectrumBand& band : spectrum.bands) {
    mean.x.push_back(band.frequency.value());
    mean.y.push_back(std::sqrt(band.mean));
  }
  chart.series = {std::move(mean)};
  add_standing_out(spectrum, chart);
  if (spectrum.root_floor > 0.0) {
    chart.levels.push_back({"floor", spectrum.root_floor, false, 3});
  }
  add_line_marks(spectrum.spurs, "spur", chart);
  add_line_marks(spectrum.unsorted, "line", chart);
  return chart;
}

Chart no_spectrum_chart(const std::string& why, const std::string& place) {
  Chart chart;
  chart.id = "error-spectrum";
  chart.title = "Spectrum of the time-interval error, " + place;
  chart.nothing = "None is formed: " + why + ".";
  return chart;
}

/// A part by the last stretch.
struct CourseAgainst {
  double hertz;

  double off(Hertz frequency) const {
    return (frequency.value() / hertz - 1.0) * 1e6;
  }
  double open(Hertz width) const { return width.value() / hertz * 1e6; }
};

/// Parts that say something: clearly off, or as well known as most are.
ChartSeries shown_parts(const std::vector<CoursePoint>& course,
                        const CourseAgainst& last, const ChartUnit& time) {
  constexpr double kPoorly = 8.0;  // times the median; chosen
  std::vector<double> widths;
  for (const CoursePoint& p : course) widths.push_back(p.most_off.value());
  const double usual = median(widths);
  ChartSeries parts{"parts of it", Drawn::kPoints, {}, {}, {}, {}};
  for (const CoursePoint& p : course) {
    const double off = last.off(p.frequency);
    const double open = last.open(p.most_off);
    if (p.most_off.value() > kPoorly * usual && std::abs(off) < 2.0 * open) {
      continue;
    }
    parts.x.push_back(0.5 * (p.from.value() + p.to.value()) / time.size);
    parts.y.push_back(off);
    parts.low.push_back(off - open);
    parts.high.push_back(off + open);
  }
  return parts;
}

/// Each stretch from its begin to its end, as wide as U.
ChartSeries shown_stretches(const std::vector<StretchRecord>& stretches,
                            const CourseAgainst& last, const ChartUnit& time) {
  ChartSeries band{"stretches, with U", Drawn::kBand, {}, {}, {}, {}};
  for (const StretchRecord& s : stretches) {
    if (!s.budget) continue;
    const FrequencyResult& f = s.budget->relative_to_timebase;
    const double off = last.off(f.value);
    const double open = last.open(f.expanded_uncertainty);
    const double from = s.from.value() / time.size;
    const double to = s.to.value() / time.size;
    band.x.insert(band.x.end(), {from, to, to});
    band.low.insert(band.low.end(), {off - open, off - open, kNothing});
    band.high.insert(band.high.end(), {off + open, off + open, kNothing});
    band.open.insert(band.open.end(), {open, open, kNothing});
  }
  return band;
}

/// What a clock did on the way to its last frequency, where it did anything.
std::optional<Chart> course_chart(const ChannelResult& channel,
                                  const std::string& place) {
  if (!channel.budget || channel.course.empty()) return std::nullopt;
  const bool settled = channel.settled_after &&
                       *channel.settled_after <= channel.stretches.front().from;
  if (channel.stretches.size() < 2 && settled) return std::nullopt;
  const CourseAgainst last{channel.budget->relative_to_timebase.value.value()};
  const ChartUnit time = unit_for({channel.stretches.back().to.value()}, "s");
  Chart chart;
  chart.id = "course";
  chart.title = "Course of the frequency, " + place;
  chart.note =
      "Stretches of one regime, and the mean frequency of parts of them with "
      "how far jitter and sampling may have moved it, against the last "
      "stretch, in the capture's own time.";
  chart.x = {"time since the first stamp / " + time.name};
  chart.y = {"against the last stretch / ppm"};
  chart.series = {shown_stretches(channel.stretches, last, time),
                  shown_parts(channel.course, last, time)};
  return chart;
}

}  // namespace

std::vector<Chart> channel_charts(const ChannelResult& channel,
                                  const std::string& place) {
  if (!channel.pictures) return {};
  const ChannelPictures& p = *channel.pictures;
  std::vector<Chart> charts;
  if (auto chart = course_chart(channel, place)) {
    charts.push_back(*std::move(chart));
  }
  if (p.errors.size() > 1) charts.push_back(error_chart(p.errors, place));
  if (p.periods) charts.push_back(period_chart(*p.periods, place));
  charts.push_back(stability_chart(p.stability, place));
  if (p.spectrum && !p.spectrum->bands.empty()) {
    charts.push_back(spectrum_chart(*p.spectrum, place));
  } else if (!p.no_spectrum.empty()) {
    charts.push_back(no_spectrum_chart(p.no_spectrum, place));
  }
  return charts;
}

}  // namespace clockassay
