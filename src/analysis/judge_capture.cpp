// SPDX-License-Identifier: GPL-3.0-or-later
#include <algorithm>
#include <cmath>
#include <cstddef>
#include <iterator>

#include "analysis/channel_names_asked.h"
#include "analysis/stretch_parts.h"
#include "clockassay/analysis/analyse.h"
#include "clockassay/base/number_text.h"
#include "clockassay/capture/channel_names.h"
#include "clockassay/capture/time_grid.h"
#include "clockassay/uncertainty/error_distribution.h"

namespace clockassay {
namespace {

std::string listed(const std::vector<ChannelResult>& channels) {
  std::string list;
  for (const ChannelResult& c : channels) {
    if (!list.empty()) list += ", ";
    list += c.name;
  }
  return list;
}

/// Nothing is seen of the clock after the time it may take to settle.
bool is_all_settling(const ClockSpec& clock, const ChannelResult& channel) {
  return clock.settle_within_s && channel.stretches.back().to.value() <=
                                      clock.settle_within_s->to_double();
}

bool states(const std::vector<DutyLine>& lines, std::string_view name) {
  return std::any_of(lines.begin(), lines.end(),
                     [&](const DutyLine& line) { return line.name == name; });
}

/// Whether both show one clock. Chosen: within twice the sum of both U of the
/// capture, because edges beside what parts them may be off by more.
bool is_one_clock(const Budget& a, const Budget& b) {
  const double f = a.relative_to_timebase.value.value();
  const double apart = b.relative_to_timebase.value.value() / f - 1.0;
  return std::abs(apart) * 1e6 <= 2.0 * (a.expanded_capture_ppm.value() +
                                         b.expanded_capture_ppm.value());
}

/// Of the last stretch's clock the longest before it, if that is longer. What
/// lies before a step of the frequency, or while it settles, is not.
std::optional<EarlierStretch> longest_stretch(const ChannelResult& channel) {
  const std::vector<StretchRecord>& all = channel.stretches;
  const StretchRecord& last = all.back();
  std::optional<EarlierStretch> longest;
  Seconds length = last.to - last.from;
  for (std::size_t i = all.size() - 1; i-- > 0;) {
    const StretchBreak why = all[i + 1].begins_after;
    if (why == StretchBreak::kFrequencyStep ||
        why == StretchBreak::kSettlingEnds) {
      break;
    }
    const bool is_longer = all[i].to - all[i].from > length;
    if (!is_longer || !all[i].budget ||
        !is_one_clock(*channel.budget, *all[i].budget)) {
      continue;
    }
    length = all[i].to - all[i].from;
    longest = {all[i].from, all[i].to, *all[i].budget};
  }
  return longest;
}

/// Beyond what lost samples do to a frequency. Chosen: a per cent.
constexpr double kOtherFrequency = 1e-2;

/// The longest stretch before the last that ran at another frequency.
std::optional<EarlierStretch> other_frequency(const ChannelResult& channel) {
  const std::vector<StretchRecord>& all = channel.stretches;
  const double f = channel.budget->relative_to_timebase.value.value();
  std::optional<EarlierStretch> longest;
  for (std::size_t i = 0; i + 1 < all.size(); ++i) {
    // Until then it may.
    const bool is_settling =
        channel.settle_within_s &&
        all[i].to.value() <= channel.settle_within_s->to_double();
    if (!all[i].budget || is_settling) continue;
    const double before = all[i].budget->relative_to_timebase.value.value();
    if (std::abs(before / f - 1.0) <= kOtherFrequency) continue;
    if (longest && longest->to - longest->from >= all[i].to - all[i].from) {
      continue;
    }
    longest = {all[i].from, all[i].to, *all[i].budget};
  }
  return longest;
}

/// What a channel that was measured tells a judge.
ClockEvidence evidence_of(const CaptureResult& capture,
                          const ChannelResult& channel,
                          const Timebase& timebase,
                          std::vector<OtherClock> others) {
  ClockEvidence evidence;
  evidence.capture = capture.path;
  evidence.channel = channel.name;
  evidence.budget = *channel.budget;
  evidence.timebase = timebase;
  evidence.warnings = capture.warnings;
  evidence.warnings.insert(evidence.warnings.end(), channel.warnings.begin(),
                           channel.warnings.end());
  evidence.longest_stretch = longest_stretch(channel);
  evidence.other_frequency = other_frequency(channel);
  evidence.steady_periods = channel.steady_periods;
  evidence.regular_repairs = channel.regular_repairs;
  evidence.as_captured = channel.as_captured;
  evidence.duration = channel.analysed_duration;
  evidence.history = history_of(channel);
  evidence.character = channel.character;
  evidence.spread = channel.spread;
  evidence.duty = channel.duty;
  evidence.skew_stated =
      channel.duty && states(channel.duty->lines, kSkewStated);
  evidence.jitter = channel.jitter;
  evidence.window = capture.window;
  for (const JitterPart& part : channel.jitter.parts) {
    if (part.name == kInputJitterStated) evidence.input_jitter_rms = part.rms;
  }
  evidence.others = std::move(others);
  // An inferred rate divides the true one, whose aliases are among its own.
  evidence.sample_rate_hz =
      channel.sample_rate_hz ? channel.sample_rate_hz : capture.sample_rate_hz;
  evidence.possible_rates_hz = capture.possible_rates_hz;
  // Where the sampling interval is not known, the window bounds it.
  const bool known =
      capture.sample_interval &&
      capture.sample_interval_source !=
          sample_interval_source_name(SampleIntervalSource::kInferred);
  evidence.sample_interval = known ? *capture.sample_interval : capture.window;
  if (known && channel.sample_rate_hz) {
    evidence.sample_interval =
        Seconds(1.0 / channel.sample_rate_hz->to_double());
  }
  return evidence;
}

Result<Verdict> judge_channel(const ClockSpec& clock,
                              const std::vector<Suspect>& suspects,
                              const CaptureResult& capture,
                              const ChannelResult& channel,
                              const Timebase& timebase,
                              const std::vector<OtherClock>& others) {
  if (clock.settle_within_s != channel.settle_within_s) {
    return failure(ErrorCode::kBadSpec,
                   "the clocks on channel " + channel.name +
                       " do not state one \"settle_within\"",
                   "a channel settles once: state the same for all of them");
  }
  if (is_all_settling(clock, channel)) {
    return judge_unmeasured_clock(
        clock, capture.path, channel.name,
        "The last edge of channel " + channel.name + " is at " +
            number_text(channel.stretches.back().to.value(), 6) +
            " s, and until " +
            number_text(clock.settle_within_s->to_double(), 6) +
            " s it may settle: nothing after that is seen.");
  }
  if (!channel.budget) {
    return judge_unmeasured_clock(
        clock, capture.path, channel.name,
        "The last stretch of channel " + channel.name + " has " +
            std::to_string(channel.stretches.back().edges.rising) +
            " rising edges and gives no frequency: " +
            channel.warnings.back().message + ".");
  }
  return judge_clock(clock, suspects,
                     evidence_of(capture, channel, timebase, others));
}

/// Whether a clock that runs need not show itself: less than two periods from
/// when it has to run, the second for one that is slower than expected.
bool is_short(const ClockSpec& clock, const CaptureResult& capture) {
  double running = capture.duration.value();
  if (clock.settle_within_s) running -= clock.settle_within_s->to_double();
  return running * clock.expect.frequency_hz.to_double() < 2.0;
}

/// The verdict on a channel that carries no clock.
Verdict judge_idle(const ClockSpec& clock, const CaptureResult& capture,
                   const IdleChannel& idle) {
  if (idle.edges == 0 && !idle.never_turns.empty()) {
    // The threshold that was stated may be at fault, and not the clock.
    return judge_unmeasured_clock(
        clock, capture.path, idle.name,
        "Channel " + idle.name + " shows no edge: " + idle.never_turns + ".");
  }
  if (idle.zero_width_pulses > 0) {
    return judge_unmeasured_clock(
        clock, capture.path, idle.name,
        "Channel " + idle.name + " changes and changes back within one time, " +
            std::to_string(idle.zero_width_pulses) +
            " times: the times are written too coarsely to show its edges. "
            "Export them with more digits.");
  }
  if (idle.edges == 0 && !idle.level_known) {
    return judge_unmeasured_clock(
        clock, capture.path, idle.name,
        "Channel " + idle.name +
            " shows no edge between two known levels: its level is unknown (x "
            "or z) at times or throughout.");
  }
  if (idle.edges == 0 && is_short(clock, capture)) {
    return judge_unmeasured_clock(
        clock, capture.path, idle.name,
        "Channel " + idle.name + " shows no edge, but the capture lasts " +
            number_text(capture.duration.value(), 3) +
            " s, less than two periods of the expected clock" +
            (clock.settle_within_s ? " after the time it may settle" : "") +
            ": capture longer.");
  }
  if (idle.edges == 0) {
    return judge_missing_clock(
        clock, capture.path,
        "Channel " + idle.name + " is constant: no edge at all.");
  }
  return judge_unmeasured_clock(
      clock, capture.path, idle.name,
      "Channel " + idle.name + " has " + std::to_string(idle.edges) +
          (idle.edges == 1 ? " edge" : " edges") +
          ", too few or too irregular" +
          (capture.reference ? " in the time of the reference" : "") +
          " to be a clock.");
}

Verdict judge_missing(const ClockSpec& clock, const CaptureResult& capture) {
  // A name that is mistyped looks like a clock that is missing.
  const auto& names = capture.channel_names;
  const std::string meant = did_you_mean(names, *clock.channel);
  return judge_missing_clock(clock, capture.path,
                             "The capture has " +
                                 no_such_channel(names, *clock.channel) +
                                 (meant.empty() ? "." : "; " + meant));
}

/// The channels that carry a clock to judge.
std::vector<ChannelResult> clocks_of(const CaptureResult& capture) {
  std::vector<ChannelResult> clocks;
  std::copy_if(capture.channels.begin(), capture.channels.end(),
               std::back_inserter(clocks),
               [](const ChannelResult& c) { return !c.is_reference; });
  return clocks;
}

Result<Verdict> judge_one(const ClockSpec& clock,
                          const std::vector<Suspect>& suspects,
                          const CaptureResult& capture,
                          const Timebase& timebase,
                          const std::vector<OtherClock>& others) {
  if (!clock.channel) {
    const std::vector<ChannelResult> clocks = clocks_of(capture);
    if (clocks.empty()) {
      const auto busiest = std::max_element(
          capture.idle_channels.begin(), capture.idle_channels.end(),
          [](const IdleChannel& a, const IdleChannel& b) {
            return a.edges < b.edges;
          });
      if (busiest != capture.idle_channels.end()) {
        return judge_idle(clock, capture, *busiest);
      }
      return judge_missing_clock(clock, capture.path,
                                 capture.reference
                                     ? "The capture has no channel but the "
                                       "reference."
                                     : "The capture has no channel at all.");
    }
    if (clocks.size() > 1) {
      return failure(
          ErrorCode::kUsage,
          "several channels carry a clock (" + listed(clocks) +
              ") and nothing says which one \"" + clock.name + "\" is",
          "name it with --channel, or with \"channel\" in a specification");
    }
    return judge_channel(clock, suspects, capture, clocks.front(), timebase,
                         others);
  }
  for (const ChannelResult& channel : capture.channels) {
    if (is_meant(*clock.channel, channel.name, channel.asked)) {
      if (channel.is_reference) {
        return failure(ErrorCode::kUsage,
                       "\"" + clock.name + "\" is on channel " + channel.name +
                           ", the reference, which is not judged",
                       "judge it without the reference, or take another clock "
                       "for one");
      }
      return judge_channel(clock, suspects, capture, channel, timebase, others);
    }
  }
  for (const IdleChannel& idle : capture.idle_channels) {
    if (is_meant(*clock.channel, idle.name, idle.asked)) {
      return judge_idle(clock, capture, idle);
    }
  }
  return judge_missing(clock, capture);
}

/// The channel that the clock is measured on; nullptr: none, or not one alone.
const ChannelResult* channel_of(const ClockSpec& clock,
                                const CaptureResult& capture) {
  const ChannelResult* found = nullptr;
  for (const ChannelResult& channel : capture.channels) {
    if (channel.is_reference) continue;
    if (clock.channel &&
        !is_meant(*clock.channel, channel.name, channel.asked)) {
      continue;
    }
    if (found != nullptr) return nullptr;
    found = &channel;
  }
  return found;
}

/// U in the capture's own time, at 95 % whatever is asked for: by how much two
/// outputs may seem apart is no matter of how sure a verdict is to be.
Ppm fixed_expanded_capture(const Budget& budget) {
  const double k = expanded_half_width(ErrorDistribution{0.0, 1.0}, 0.95);
  return Ppm(budget.expanded_capture_ppm.value() * k /
             budget.relative_to_timebase.coverage_factor.value_or(k));
}

/// The clocks that have a frequency.
std::vector<MeasuredClock> measured_clocks(const Specification& specification,
                                           const CaptureResult& capture) {
  std::vector<MeasuredClock> measured;
  for (const ClockSpec& clock : specification.clocks) {
    const ChannelResult* channel = channel_of(clock, capture);
    if (channel == nullptr || !channel->budget ||
        is_all_settling(clock, *channel)) {
      continue;
    }
    const Budget& budget = *channel->budget;
    measured.push_back({&clock, budget.frequency.value, budget.expanded_ppm,
                        fixed_expanded_capture(budget)});
  }
  return measured;
}

std::vector<OtherClock> others_of_clock(
    const std::vector<MeasuredClock>& measured, const ClockSpec& clock) {
  const auto found =
      std::find_if(measured.begin(), measured.end(),
                   [&](const MeasuredClock& m) { return m.spec == &clock; });
  if (found == measured.end()) return {};
  return others_of(measured,
                   static_cast<std::size_t>(found - measured.begin()));
}

}  // namespace

std::vector<FrequencyExpected> expected_of(const Specification& specification) {
  std::vector<FrequencyExpected> expected;
  for (const ClockSpec& clock : specification.clocks) {
    expected.push_back(
        {clock.channel, clock.expect.frequency_hz, clock.tolerance.make});
  }
  return expected;
}

std::vector<SourceGroup> compare_outputs(const Specification& specification,
                                         const CaptureResult& capture) {
  auto groups = group_by_source(measured_clocks(specification, capture));
  for (SourceGroup& group : groups) group.capture = capture.path;
  return groups;
}

Result<std::vector<Verdict>> judge_capture(const Specification& specification,
                                           const CaptureResult& capture,
                                           const Timebase& timebase) {
  std::vector<Verdict> verdicts;
  const auto measured = measured_clocks(specification, capture);
  for (const ClockSpec& clock : specification.clocks) {
    auto verdict = judge_one(clock, specification.suspects, capture, timebase,
                             others_of_clock(measured, clock));
    if (!verdict) {
      Error error = verdict.error();
      error.path = capture.path;
      return tl::unexpected(error);
    }
    verdicts.push_back(std::move(*verdict));
  }
  return verdicts;
}

}  // namespace clockassay
