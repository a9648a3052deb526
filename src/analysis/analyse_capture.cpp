// SPDX-License-Identifier: GPL-3.0-or-later
#include <algorithm>
#include <array>
#include <cmath>
#include <cstdio>
#include <limits>

#include "analysis/sampling_facts.h"
#include "clockassay/analysis/analyse.h"
#include "clockassay/edges/edge_store.h"
#include "clockassay/edges/numbering.h"
#include "clockassay/edges/sampling_window.h"
#include "clockassay/estimate/clock_estimate.h"
#include "clockassay/estimate/pulse_widths.h"

namespace clockassay {
namespace {

/// Above this share of repaired edges the numbering is not to be trusted.
/// Chosen: twice what repairs were shown to survive by simulation.
constexpr double kDoubtfulShare = 0.2;
/// Below this many rising edges no repair is trusted. Chosen.
constexpr std::int64_t kFewestWithRepairs = 16;
/// Repairs listed one by one in a warning.
constexpr std::size_t kListedRepairs = 3;

/// What every channel of one capture shares.
struct Setting {
  const Capture& capture;
  const AnalysisOptions& options;
  TickScale scale;
  Ticks from;
  Ticks to;
  SampleIntervalSource source;  ///< how the sampling interval is known
};

/// Ticks from a time in seconds, rounded down and clamped to the capture.
Ticks ticks_after(const Capture& capture, const Rational& seconds) {
  const auto ticks = divide(seconds, capture.grid.tick_s);
  const std::int64_t length =
      (capture.last_stamp - capture.first_stamp).count();
  if (!ticks || *ticks > Rational(length)) return capture.last_stamp;
  return capture.first_stamp +
         Ticks(static_cast<std::int64_t>(ticks->num() / ticks->den()));
}

Setting make_setting(const Capture& capture, const AnalysisOptions& options,
                     const SamplingWindow& window) {
  Setting s{capture,
            options,
            tick_scale(capture, window),
            capture.first_stamp,
            capture.last_stamp,
            window.source};
  if (options.from_s) s.from = ticks_after(capture, *options.from_s);
  if (options.span_s) {
    const auto end = add(options.from_s.value_or(Rational(0)), *options.span_s);
    if (end) s.to = ticks_after(capture, *end);
  }
  return s;
}

/// The same for a channel whose edges were interpolated: its window is its own,
/// and its edges meet no samples.
Setting interpolated_setting(const Setting& s, const ChannelRecord& record,
                             const ParallelFor& parallel_for) {
  Setting own = s;
  own.scale = tick_scale(
      s.capture, sampling_window({&record, 1}, s.capture.grid, parallel_for));
  own.scale.sample_ticks.reset();
  return own;
}

Seconds since_first_stamp(const Setting& s, Ticks t) {
  return Seconds(static_cast<double>((t - s.capture.first_stamp).count()) *
                 s.scale.tick_s.to_double());
}

std::string break_name(StretchBreak why) {
  switch (why) {
    case StretchBreak::kStart:
      return "the capture begins";
    case StretchBreak::kUnknownLevel:
      return "the level was unknown";
    case StretchBreak::kStopped:
      return "the clock stopped";
    case StretchBreak::kRegimeChange:
      return "the frequency or phase jumped";
  }
  return "";
}

/// Seconds, to nine digits.
std::string number(double value) {
  std::array<char, 32> text;
  std::snprintf(text.data(), text.size(), "%.9g", value);
  return text.data();
}

/// One stretch, and what its estimate says.
struct AnalysedStretch {
  StretchRecord record;
  std::optional<ClockEstimate> estimate;
  std::string trouble;          ///< why there is no estimate
  std::vector<Repair> repairs;  ///< in what is analysed of it,
  Ticks first;                  ///< whose ends are these
  Ticks last;
  std::int64_t uneven_cycles = 0;  ///< of the whole stretch
  StretchBreak why = StretchBreak::kStart;
};

/// Pulses of one sample that may not all have been seen. Where the sampling
/// interval is inferred from the shortest pulse, every pulse may be no more
/// than that because nothing else was sampled in between.
void warn_of_narrow_pulses(const Setting& s, const EdgeView& view,
                           const ParallelFor& parallel_for,
                           std::vector<Warning>& warnings) {
  if (s.source == SampleIntervalSource::kUnknown) return;
  const double window = s.scale.window_ticks.to_double();
  const double sample =
      s.scale.sample_ticks ? s.scale.sample_ticks->to_double() : window;
  const PulseWidths pulses =
      count_pulses(view, window + 0.25 * sample, parallel_for);
  if (!may_be_missed(pulses)) return;
  const bool high = 20 * pulses.long_highs < pulses.highs;
  const std::int64_t of = high ? pulses.highs : pulses.lows;
  const std::int64_t shorter =
      of - (high ? pulses.long_highs : pulses.long_lows);
  const std::string seen = std::to_string(shorter) + " of " +
                           std::to_string(of) +
                           (high ? " high times" : " low times") +
                           " seen are one sampling interval long";
  if (s.source == SampleIntervalSource::kInferred) {
    warnings.push_back({WarningCode::kSamplingNotVisible,
                        seen +
                            " if that interval is inferred right: shorter "
                            "pulses would be missed, and the clock be a "
                            "multiple of what is seen; state the sample rate"});
    return;
  }
  warnings.push_back({WarningCode::kNarrowPulses,
                      seen +
                          ": shorter ones were missed if there are any, and "
                          "the clock may be a multiple of what is seen; sample "
                          "several times as fast"});
}

AnalysedStretch analyse_stretch(const Setting& s, const Stretch& stretch,
                                StretchBreak why,
                                const ParallelFor& parallel_for) {
  const EdgeView view(stretch, std::max(stretch.first, s.from),
                      std::min(stretch.last, s.to));
  AnalysedStretch out;
  out.first = view.from();
  out.last = view.to();
  out.uneven_cycles = stretch.uneven_cycles;
  out.why = why;
  out.record.from = since_first_stamp(s, view.from());
  out.record.to = since_first_stamp(s, view.to());
  for (const Repair& r : stretch.repairs) {
    if (r.time < s.from || r.time > s.to) continue;
    out.repairs.push_back(r);
    (r.kind == RepairKind::kMissingCycle ? out.record.edges.missing
                                         : out.record.edges.extra) += r.count;
  }
  const auto estimate = estimate_clock(view, s.scale, parallel_for);
  if (!estimate) {
    const Error& error = estimate.error();
    out.trouble = error.message;
    if (!error.hint.empty()) out.trouble += "; " + error.hint;
    return out;
  }
  out.estimate = *estimate;
  if (!stretch.rising_only) {
    warn_of_narrow_pulses(s, view, parallel_for, out.estimate->warnings);
  }
  out.record.edges.rising = estimate->rising;
  out.record.edges.falling = estimate->falling;
  out.record.budget =
      make_budget(estimate->frequency, s.options.timebase, s.options.coverage);
  return out;
}

/// Whether the first or last few cycles are mostly repairs: a change of
/// frequency too short to show as a regime of its own.
bool repairs_at_an_end(const AnalysedStretch& a) {
  constexpr double kCycles = 10.0;    // one more than hide from the regime test
  constexpr std::int64_t kCrowd = 5;  // chosen: rare with a tenth of faults
  if (!a.estimate) return false;
  const double reach = kCycles * a.estimate->period_ticks;
  std::int64_t at_first = 0, at_last = 0;
  for (const Repair& r : a.repairs) {
    const auto after = static_cast<double>((r.time - a.first).count());
    const auto before = static_cast<double>((a.last - r.time).count());
    if (after < reach) at_first += r.count;
    if (before < reach) at_last += r.count;
  }
  return std::max(at_first, at_last) >= kCrowd;
}

/// Whether the extra edges come at the same place of the period, as damage does
/// not: chance puts a tenth of them into any two neighbouring twentieths.
bool extra_edges_pile_up(const AnalysedStretch& a) {
  constexpr std::size_t kBins = 20;
  constexpr std::int64_t kFewest = 40;  // chosen: chance stays far below kShare
  constexpr double kShare = 0.4;
  if (!a.estimate || a.record.edges.extra < kFewest) return false;
  const double period = a.estimate->period_ticks;
  std::array<std::int64_t, kBins> bins{};
  for (const Repair& r : a.repairs) {
    if (r.kind != RepairKind::kExtraEdge) continue;
    const double turns =
        static_cast<double>((r.time - a.first).count()) / period;
    const double place = turns - std::floor(turns);
    ++bins[std::min(kBins - 1, static_cast<std::size_t>(place * kBins))];
  }
  std::int64_t most = 0;
  for (std::size_t i = 0; i < kBins; ++i) {
    most = std::max(most, bins[i] + bins[(i + 1) % kBins]);
  }
  return static_cast<double>(most) >
         kShare * static_cast<double>(a.record.edges.extra);
}

void warn_of_repairs(const Setting& s, const AnalysedStretch& a,
                     std::vector<Warning>& warnings) {
  const EdgeCounts& e = a.record.edges;
  if (e.missing == 0 && e.extra == 0) return;
  std::string message = std::to_string(e.missing) + " lost cycles and " +
                        std::to_string(e.extra) +
                        " extra edges were found and left out of the line:";
  std::size_t listed = 0;
  for (const Repair& r : a.repairs) {
    if (listed == kListedRepairs) {
      message += " …";
      break;
    }
    message += (listed == 0 ? " " : ", ");
    message +=
        (r.kind == RepairKind::kMissingCycle ? "lost before " : "extra at ") +
        number(since_first_stamp(s, r.time).value()) + " s";
    ++listed;
  }
  warnings.push_back({WarningCode::kEdgesRepaired, message});
  if (repairs_at_an_end(a) || e.rising < kFewestWithRepairs) {
    warnings.push_back(
        {WarningCode::kRepairDoubtful,
         "repairs crowd at an end of the clock's run, or are too many for so "
         "few edges: another frequency may begin or end there"});
  }
  if (extra_edges_pile_up(a)) {
    warnings.push_back(
        {WarningCode::kRepairDoubtful,
         "the extra edges pile up at one place of the period: they may be "
         "another clock's, or this one's, at a multiple"});
  }
  const auto repaired = static_cast<double>(e.missing + e.extra);
  const auto seen = static_cast<double>(e.rising + e.falling);
  if (repaired > kDoubtfulShare * seen) {
    warnings.push_back(
        {WarningCode::kRepairDoubtful,
         "that is too large a share of the edges for the numbering to be "
         "trusted; find out what damages the capture (threshold, ground, "
         "sample rate)"});
  }
}

void warn_of_breaks(const EdgeStore& store,
                    const std::vector<AnalysedStretch>& stretches,
                    std::vector<Warning>& warnings) {
  if (stretches.size() > 1) {
    const AnalysedStretch& last = stretches.back();
    warnings.push_back(
        {WarningCode::kSeveralStretches,
         "the capture falls into " + std::to_string(stretches.size()) +
             " stretches; the result is that of the last, which begins at " +
             number(last.record.from.value()) + " s, after " +
             break_name(last.why)});
  }
  if (stretches.back().uneven_cycles > 0) {
    warnings.push_back(
        {WarningCode::kUnevenPeriods,
         "periods vary by more than a quarter, in " +
             std::to_string(stretches.back().uneven_cycles) +
             " cycles: either the clock jitters that much, or pulses are "
             "missing in a regular pattern and the clock is another"});
  }
  if (store.unnumbered_edges > 0) {
    warnings.push_back({WarningCode::kRepairDoubtful,
                        std::to_string(store.unnumbered_edges) +
                            " edges belong to no steady clock and were left "
                            "out"});
  }
}

/// A clock whose last edge is long before the end of what is analysed, for
/// whatever reason, has not been seen to run there.
void warn_of_silence(const Setting& s, const AnalysedStretch& last,
                     std::vector<Warning>& warnings) {
  if (!last.estimate) return;
  const double silence =
      since_first_stamp(s, s.to).value() - last.record.to.value();
  if (silence <= kStopPeriods * last.estimate->period.value()) return;
  warnings.push_back({WarningCode::kClockStopped,
                      "no edge is seen in the last " + number(silence) +
                          " s of what is analysed: the clock stopped, or its "
                          "level is unknown"});
}

void warn_of_reading(const ChannelRecord& record,
                     std::vector<Warning>& warnings) {
  if (record.zero_width_pulses > 0) {
    warnings.push_back({WarningCode::kZeroWidthPulses,
                        std::to_string(record.zero_width_pulses) +
                            " pulses of no width were left out"});
  }
  if (record.unknown_stretches > 0) {
    warnings.push_back(
        {WarningCode::kUnknownLevels,
         "the level is unknown in " + std::to_string(record.unknown_stretches) +
             (record.unknown_stretches == 1 ? " place" : " places") +
             "; no period reaches across them"});
  }
}

void take_estimate(const AnalysedStretch& last, ChannelResult& result) {
  result.budget = last.record.budget;
  if (!last.estimate) return;
  const ClockEstimate& e = *last.estimate;
  result.method = e.frequency.method;
  result.bound_low = e.frequency.bound_low;
  result.bound_high = e.frequency.bound_high;
  result.period = e.period;
  result.duty = e.duty;
  result.jitter = e.jitter;
  result.spectral_check = e.spectral_check;
  result.analysed_duration = e.span;
  result.samples_per_period = e.samples_per_period;
  result.few_phases = e.few_phases;
  if (e.samples_per_period) {
    const double f = e.frequency.frequency.value();
    const double rate = f * *e.samples_per_period;
    result.looks_like = {Hertz(rate - f), Hertz(rate + f)};
  }
  result.warnings.insert(result.warnings.end(), e.warnings.begin(),
                         e.warnings.end());
}

std::int64_t count_edges(const ChannelRecord& record) {
  std::int64_t edges = 0;
  for (const EdgeRun& run : record.runs) {
    for (const CycleBlock& b : run.blocks) edges += 2 * std::int64_t{b.count};
    edges += run.leading_fall.has_value() + run.last_rise.has_value() +
             run.trailing_fall.has_value();
  }
  return record.rising_only ? edges / 2 : edges;
}

/// nullopt when the channel carries no clock.
std::optional<ChannelResult> analyse_channel(const Setting& s,
                                             const ChannelRecord& record,
                                             const ParallelFor& parallel_for) {
  const EdgeStore store =
      number_cycles(record, s.scale.window_ticks.to_double());
  std::vector<AnalysedStretch> stretches;
  for (std::size_t i = 0; i < store.stretches.size(); ++i) {
    const Stretch& stretch = store.stretches[i];
    if (stretch.last < s.from || stretch.first > s.to) continue;
    stretches.push_back(
        analyse_stretch(s, stretch, store.breaks[i], parallel_for));
  }
  if (stretches.empty()) return std::nullopt;
  ChannelResult result;
  result.name = record.name;
  result.asked = record.asked;
  for (const AnalysedStretch& a : stretches) {
    result.edges.rising += a.record.edges.rising;
    result.edges.falling += a.record.edges.falling;
    result.edges.missing += a.record.edges.missing;
    result.edges.extra += a.record.edges.extra;
    result.stretches.push_back(a.record);
  }
  take_estimate(stretches.back(), result);
  if (record.interpolated) {
    // How far interpolation is off is not known for sure.
    result.bound_low.reset();
    result.bound_high.reset();
  }
  warn_of_repairs(s, stretches.back(), result.warnings);
  warn_of_breaks(store, stretches, result.warnings);
  warn_of_silence(s, stretches.back(), result.warnings);
  warn_of_reading(record, result.warnings);
  if (!result.budget) {
    result.warnings.push_back(
        {WarningCode::kNoEstimate, stretches.back().trouble});
  }
  return result;
}

}  // namespace

CaptureResult analyse_capture(const Capture& capture, std::string path,
                              const AnalysisOptions& options,
                              const ParallelFor& parallel_for) {
  const SamplingWindow window =
      sampling_window(capture.channels, capture.grid, parallel_for);
  const Setting setting = make_setting(capture, options, window);
  CaptureResult result;
  result.path = std::move(path);
  result.format = capture.format;
  result.bytes = capture.bytes;
  result.tick = Seconds(capture.grid.tick_s.to_double());
  describe_sampling(capture, window, result);
  result.duration = since_first_stamp(setting, capture.last_stamp);
  result.origin = capture.origin;
  result.channel_names = capture.channel_names;
  result.warnings = capture.warnings;
  result.warnings.insert(result.warnings.end(), window.warnings.begin(),
                         window.warnings.end());
  if (options.timebase.kind == TimebaseKind::kAssumed) {
    result.warnings.push_back({WarningCode::kTimebaseAssumed,
                               "the instrument's timebase is not stated; ±" +
                                   std::to_string(static_cast<int>(
                                       options.timebase.tolerance.value())) +
                                   " ppm is assumed"});
  }
  for (const ChannelRecord& record : capture.channels) {
    auto channel = analyse_channel(
        record.interpolated
            ? interpolated_setting(setting, record, parallel_for)
            : setting,
        record, parallel_for);
    if (channel && record.interpolated && result.sample_rate_hz) {
      channel->sample_rate_hz =
          own_sample_rate(record, capture.grid, *result.sample_rate_hz);
    }
    if (channel) {
      result.channels.push_back(std::move(*channel));
    } else {
      result.idle_channels.push_back(
          {record.name, record.asked, count_edges(record),
           record.unknown_stretches == 0 && record.runs.size() == 1,
           record.zero_width_pulses, record.never_turns});
    }
  }
  return result;
}

}  // namespace clockassay
