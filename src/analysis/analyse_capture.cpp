// SPDX-License-Identifier: GPL-3.0-or-later
#include <algorithm>
#include <cmath>
#include <numbers>

#include "analysis/channel_analysis.h"
#include "analysis/channel_character.h"
#include "analysis/channel_spectrum.h"
#include "analysis/channel_stability.h"
#include "analysis/channel_warnings.h"
#include "analysis/reference_channel.h"
#include "analysis/repair_warnings.h"
#include "analysis/sample_grid.h"
#include "analysis/sampling_facts.h"
#include "analysis/stretch_parts.h"
#include "clockassay/analysis/analyse.h"
#include "clockassay/base/number_text.h"
#include "clockassay/edges/edge_store.h"
#include "clockassay/edges/numbering.h"
#include "clockassay/edges/sampling_window.h"
#include "clockassay/estimate/clock_estimate.h"
#include "clockassay/estimate/jitter.h"

namespace clockassay {
namespace {

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
            window.source,
            capture.first_stamp};
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

/// By the reference, if there is one; else by the timebase.
Result<Budget> budget_of(const Setting& s,
                         const std::optional<CommonViews>& common,
                         ClockEstimate& clock,
                         const ParallelFor& parallel_for) {
  if (common) return budget_against(s, *common, clock, parallel_for);
  return make_budget(clock.frequency, s.options.timebase, s.options.coverage);
}

std::string trouble_text(const Error& error) {
  return error.hint.empty() ? error.message : error.message + "; " + error.hint;
}

/// Where a part is and what was repaired in it, before it is measured.
AnalysedStretch describe_part(const Setting& s, const Stretch& stretch,
                              const StretchPart& part, const EdgeView& view) {
  AnalysedStretch out;
  out.stretch = &stretch;
  out.first = view.from();
  out.last = view.to();
  out.uneven_cycles = stretch.uneven_cycles;
  out.why = part.why;
  out.record.begins_after = part.why;
  out.record.from = since_first_stamp(s, view.from());
  out.record.to = since_first_stamp(s, view.to());
  for (const Repair& r : stretch.repairs) {
    if (r.time < part.from || r.time > part.to) continue;
    out.repairs.push_back(r);
    (r.kind == RepairKind::kMissingCycle ? out.record.edges.missing
                                         : out.record.edges.extra) += r.count;
  }
  return out;
}

/// What is stated of the instrument's edges adds nothing to the frequency: the
/// budget says so, and why.
/// Source: docs/uncertainty.md#the-instrument-file
void add_edge_lines(const AnalysisOptions& options, Budget& budget) {
  const auto nanoseconds = [](Seconds s) {
    return number_text(s.value() * 1e9, 6) + " ns";
  };
  if (options.input_jitter_rms) {
    budget.lines.push_back(
        normal_line("input jitter", 'B', Ppm(0.0),
                    nanoseconds(*options.input_jitter_rms) +
                        " rms on every edge, stated: in their scatter, and so "
                        "counted with sampling and jitter"));
  }
  if (options.edge_skew) {
    budget.lines.push_back(rectangular_line(
        "edge skew", Ppm(0.0),
        "±" + nanoseconds(*options.edge_skew) +
            " between rising and falling edges, stated: the same in every "
            "cycle, it moves the line of one against that of the other, not "
            "their slope; it is in the duty"));
  }
}

/// Fills in the estimate and the budget, or why there are none.
void measure_part(const Setting& s, const EdgeView& view,
                  const std::optional<CommonViews>& common, bool rising_only,
                  const ParallelFor& parallel_for, AnalysedStretch& out) {
  auto estimate = estimate_clock(view, s.scale, parallel_for, s.nominal);
  if (!estimate) {
    out.trouble = trouble_text(estimate.error());
    return;
  }
  out.record.edges.rising = estimate->rising;
  out.record.edges.falling = estimate->falling;
  if (!rising_only) {
    warn_of_narrow_pulses(s, view, parallel_for, estimate->warnings);
  }
  auto budget = budget_of(s, common, *estimate, parallel_for);
  if (!budget) {
    out.trouble = "reference: " + trouble_text(budget.error());
    return;
  }
  add_edge_lines(s.options, *budget);
  out.estimate = *std::move(estimate);
  out.record.budget = *std::move(budget);
}

AnalysedStretch analyse_part(const Setting& s, const Stretch& stretch,
                             const StretchPart& part,
                             const ParallelFor& parallel_for) {
  EdgeView view(stretch, part.from, part.to);
  std::optional<CommonViews> common;
  if (s.reference != nullptr) common = common_with_reference(s, view);
  if (common) view = common->clock.view;
  AnalysedStretch out = describe_part(s, stretch, part, view);
  out.run_to = since_first_stamp(s, EdgeView(stretch, part.from, part.to).to());
  if (s.reference != nullptr && !common) {
    out.trouble = "it has no two edges in the time of the reference";
    return out;
  }
  measure_part(s, view, common, stretch.rising_only, parallel_for, out);
  return out;
}

/// What the instrument may move one kind of edges against the other, either
/// way, is in the high time as a whole; rectangular.
void add_edge_skew(const AnalysisOptions& options, Seconds period,
                   std::optional<DutyEstimate>& duty) {
  if (!options.edge_skew || !duty) return;
  const double skew = *options.edge_skew / period / std::numbers::sqrt3;
  duty->standard_uncertainty = std::hypot(duty->standard_uncertainty, skew);
  duty->lines.push_back({kSkewStated, "rectangular", skew});
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

/// Where the edges lie within their windows no period is off the others.
void find_steady(const Setting& s, const AnalysedStretch& last,
                 ChannelResult& result) {
  if (!last.estimate ||
      last.estimate->frequency.method == EstimateMethod::kFeasibleSet) {
    return;
  }
  result.steady_periods = find_steady_periods(
      EdgeView(*last.stretch, last.first, last.last), last.estimate->rising,
      s.scale.window_ticks.to_double(), last.estimate->period_ticks,
      s.scale.tick_s.to_double());
}

/// The course of the stretches just analysed, or each as a whole where they are
/// too short to be followed.
void take_course(const StretchParts& parts,
                 const std::vector<AnalysedStretch>& stretches,
                 std::vector<CoursePoint>& course) {
  if (!parts.course.empty()) {
    course.insert(course.end(), parts.course.begin(), parts.course.end());
    return;
  }
  for (auto a =
           stretches.end() - static_cast<std::ptrdiff_t>(parts.parts.size());
       a != stretches.end(); ++a) {
    if (const auto point = as_point(a->record)) course.push_back(*point);
  }
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

/// All of a channel that is analysed, part by part; the course of its frequency
/// goes to the result.
std::vector<AnalysedStretch> analyse_stretches(
    const Setting& s, const EdgeStore& store,
    const std::optional<Rational>& settle_within_s,
    const ParallelFor& parallel_for, ChannelResult& result) {
  std::vector<AnalysedStretch> stretches;
  for (std::size_t i = 0; i < store.stretches.size(); ++i) {
    const Stretch& stretch = store.stretches[i];
    if (stretch.last < s.from || stretch.first > s.to) continue;
    const StretchParts parts = part_stretch(s, stretch, store.breaks[i],
                                            settle_within_s, parallel_for);
    for (const StretchPart& part : parts.parts) {
      stretches.push_back(analyse_part(s, stretch, part, parallel_for));
    }
    take_course(parts, stretches, result.course);
  }
  return stretches;
}

void take_stretches(const std::vector<AnalysedStretch>& stretches,
                    ChannelResult& result) {
  for (const AnalysedStretch& a : stretches) {
    result.edges.rising += a.record.edges.rising;
    result.edges.falling += a.record.edges.falling;
    result.edges.missing += a.record.edges.missing;
    result.edges.extra += a.record.edges.extra;
    result.stretches.push_back(a.record);
  }
}

/// nullopt when the channel carries no clock in what is analysed.
std::optional<ChannelResult> analyse_numbered(const Setting& s,
                                              const ChannelRecord& record,
                                              const EdgeStore& store,
                                              const ParallelFor& parallel_for) {
  ChannelResult result;
  result.name = record.name;
  result.asked = record.asked;
  result.settle_within_s = settling_asked(s, record);
  if (s.reference != nullptr) result.time_wander = time_wander(*s.reference);
  const auto stretches =
      analyse_stretches(s, store, result.settle_within_s, parallel_for, result);
  if (stretches.empty()) return std::nullopt;
  take_stretches(stretches, result);
  take_estimate(stretches.back(), result);
  find_steady(s, stretches.back(), result);
  add_spectrum(s, stretches.back(), record.interpolated, parallel_for, result);
  if (result.period) add_edge_skew(s.options, *result.period, result.duty);
  if (s.options.input_jitter_rms) {
    take_off_input(*s.options.input_jitter_rms, result.jitter);
  }
  describe_stability_of(s, stretches.back(), record.interpolated, parallel_for,
                        result);
  if (s.options.pictures) {
    result.pictures = pictures_of(s, stretches.back(), record.interpolated,
                                  parallel_for, result);
  }
  if (record.interpolated) {
    // How far interpolation is off is not known for sure.
    result.bound_low.reset();
    result.bound_high.reset();
  }
  look_at_repairs(stretches.back(), result);
  warn_of_repairs(s, stretches.back(), result);
  warn_of_breaks(s, store, stretches, result.settle_within_s, result.warnings);
  warn_of_late_begin(s, stretches.front(), result.warnings);
  warn_of_silence(s, stretches.back(), result.warnings);
  warn_of_reading(record, result.warnings);
  tell_character(s, record, stretches.back(), parallel_for, result);
  if (result.budget) {
    result.settled_after = settled_after(history_of(result), 0.0);
  } else {
    result.warnings.push_back(
        {WarningCode::kNoEstimate, stretches.back().trouble});
  }
  return result;
}

/// nullopt when the channel carries no clock.
std::optional<ChannelResult> analyse_channel(const Setting& s,
                                             const ChannelRecord& record,
                                             const ParallelFor& parallel_for) {
  const EdgeStore store =
      number_cycles(record, s.scale.window_ticks.to_double());
  return analyse_numbered(s, record, store, parallel_for);
}

/// A capture, ready to be analysed channel by channel.
struct ReadyCapture {
  ReadyCapture(const Capture& c, const AnalysisOptions& options,
               const ParallelFor& parallel_for)
      : capture(c),
        window(sampling_window(c.channels, c.grid, parallel_for)),
        setting(make_setting(c, options, window)),
        on_samples(put_on_samples(c, window)),
        sampled(on_samples ? in_samples(setting, *on_samples) : setting) {}

  const std::vector<ChannelRecord>& channels() const {
    return on_samples ? on_samples->channels : capture.channels;
  }
  Setting setting_of(const ChannelRecord& record,
                     const ParallelFor& parallel_for) const {
    return record.interpolated
               ? interpolated_setting(setting, record, parallel_for)
               : sampled;
  }

  const Capture& capture;
  SamplingWindow window;
  Setting setting;  ///< as written
  /// The samples' own ticks where the text can be undone.
  std::optional<ChannelsOnSamples> on_samples;
  Setting sampled;
};

/// What holds for all channels.
CaptureResult describe_capture(const ReadyCapture& ready, std::string path) {
  const Capture& capture = ready.capture;
  CaptureResult result;
  result.path = std::move(path);
  result.format = capture.format;
  result.bytes = capture.bytes;
  result.tick = Seconds(capture.grid.tick_s.to_double());
  describe_sampling(capture, ready.window, result);
  result.duration = since_first_stamp(ready.setting, capture.last_stamp);
  result.origin = capture.origin;
  result.channel_names = capture.channel_names;
  result.warnings = capture.warnings;
  result.warnings.insert(result.warnings.end(), ready.window.warnings.begin(),
                         ready.window.warnings.end());
  return result;
}

/// One channel, with a clock or without one.
void add_channel(const Setting& s, const ChannelRecord& record,
                 const ParallelFor& parallel_for, CaptureResult& result) {
  Setting own = s;
  own.nominal = nominal_clock(s, record);
  auto channel = analyse_channel(own, record, parallel_for);
  if (channel && record.interpolated && result.sample_rate_hz) {
    channel->sample_rate_hz =
        own_sample_rate(record, s.capture.grid, *result.sample_rate_hz);
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

void warn_of_assumed(const AnalysisOptions& options, CaptureResult& result) {
  if (options.timebase.kind != TimebaseKind::kAssumed) return;
  result.warnings.push_back({WarningCode::kTimebaseAssumed,
                             "the instrument's timebase is not stated; ±" +
                                 std::to_string(static_cast<int>(
                                     options.timebase.tolerance.value())) +
                                 " ppm is assumed"});
}

/// One channel, numbered once, in each of the windows.
WindowedChannel windowed_channel(const Setting& s, const ChannelRecord& record,
                                 std::span<const TimeWindow> windows,
                                 const ParallelFor& parallel_for) {
  WindowedChannel channel;
  channel.name = record.name;
  channel.edges = count_edges(record);
  channel.level_known =
      record.unknown_stretches == 0 && record.runs.size() == 1;
  const EdgeStore store =
      number_cycles(record, s.scale.window_ticks.to_double());
  const auto ticks = [&s](double seconds) {
    return s.origin + Ticks(std::llround(seconds / s.scale.tick_s.to_double()));
  };
  for (const TimeWindow& window : windows) {
    Setting own = s;
    own.from = std::max(s.from, ticks(window.from_s));
    own.to = std::min(s.to, ticks(window.to_s));
    channel.windows.push_back(
        own.from < own.to ? analyse_numbered(own, record, store, parallel_for)
                          : std::nullopt);
  }
  return channel;
}

}  // namespace

Result<WindowedCapture> analyse_windows(
    const std::optional<ReferenceClock>& stated, const Capture& capture,
    std::string path, const AnalysisOptions& options,
    std::span<const TimeWindow> windows, const ParallelFor& parallel_for) {
  const ReadyCapture ready(capture, options, parallel_for);
  WindowedCapture result;
  std::optional<std::size_t> at;
  std::optional<ReferenceChannel> reference;
  if (stated) {
    const auto found = find_reference(*stated, capture);
    if (!found) return tl::unexpected(found.error());
    at = *found;
    Setting own = ready.setting_of(ready.channels()[*at], parallel_for);
    own.is_reference = true;
    auto read =
        read_reference(*stated, own, ready.channels()[*at], parallel_for);
    if (!read) return tl::unexpected(read.error());
    reference.emplace(*std::move(read));
  }
  result.capture = describe_capture(ready, std::move(path));
  if (!reference) warn_of_assumed(options, result.capture);
  for (std::size_t i = 0; i < ready.channels().size(); ++i) {
    if (i == at) continue;
    const ChannelRecord& record = ready.channels()[i];
    const Setting s = ready.setting_of(record, parallel_for);
    result.channels.push_back(
        windowed_channel(reference ? within_reference(s, *reference) : s,
                         record, windows, parallel_for));
  }
  return result;
}

CaptureResult analyse_capture(const Capture& capture, std::string path,
                              const AnalysisOptions& options,
                              const ParallelFor& parallel_for) {
  const ReadyCapture ready(capture, options, parallel_for);
  CaptureResult result = describe_capture(ready, std::move(path));
  warn_of_assumed(options, result);
  for (const ChannelRecord& record : ready.channels()) {
    add_channel(ready.setting_of(record, parallel_for), record, parallel_for,
                result);
  }
  return result;
}

Result<CaptureResult> analyse_against(const ReferenceClock& stated,
                                      const Capture& capture, std::string path,
                                      const AnalysisOptions& options,
                                      const ParallelFor& parallel_for) {
  const auto at = find_reference(stated, capture);
  if (!at) return tl::unexpected(at.error());
  const ReadyCapture ready(capture, options, parallel_for);
  Setting own = ready.setting_of(ready.channels()[*at], parallel_for);
  own.is_reference = true;
  const auto reference =
      read_reference(stated, own, ready.channels()[*at], parallel_for);
  if (!reference) return tl::unexpected(reference.error());
  CaptureResult result = describe_capture(ready, std::move(path));
  for (std::size_t i = 0; i < ready.channels().size(); ++i) {
    const ChannelRecord& record = ready.channels()[i];
    if (i == *at) {
      add_channel(own, record, parallel_for, result);
      describe_reference(own, *reference, result);
    } else {
      const Setting s = ready.setting_of(record, parallel_for);
      add_channel(within_reference(s, *reference), record, parallel_for,
                  result);
    }
  }
  return result;
}

}  // namespace clockassay
