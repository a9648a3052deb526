// SPDX-License-Identifier: GPL-3.0-or-later
#include "analysis/reference_channel.h"

#include <algorithm>
#include <cmath>

#include "capture/channel_selection.h"
#include "clockassay/base/number_text.h"
#include "clockassay/base/printable.h"
#include "clockassay/capture/channel_names.h"
#include "clockassay/edges/numbering.h"

namespace clockassay {
namespace {

constexpr double kPpm = 1e-6;
/// Further off it is another clock, or another frequency. Chosen: as far as a
/// timebase may be stated to be off.
constexpr double kOtherClock = 0.1;

tl::unexpected<Error> refuse(std::string message, std::string hint) {
  return failure(ErrorCode::kBadData, "reference: " + std::move(message),
                 std::move(hint));
}

std::string hertz(double value) {
  return number_text(value, 9) + " Hz";
}

std::string ppm(double value) {
  return number_text(value, 4) + " ppm";
}

/// The stretches of which some is analysed.
std::vector<std::size_t> stretches_within(const Setting& s,
                                          const EdgeStore& store) {
  std::vector<std::size_t> within;
  for (std::size_t i = 0; i < store.stretches.size(); ++i) {
    const Stretch& stretch = store.stretches[i];
    if (stretch.last >= s.from && stretch.first <= s.to) within.push_back(i);
  }
  return within;
}

Result<std::size_t> only_stretch(const Setting& s, const EdgeStore& store,
                                 const std::string& channel,
                                 const ReferenceClock& stated) {
  const auto within = stretches_within(s, store);
  if (within.size() == 1) return within.front();
  if (within.empty()) {
    return refuse(
        "channel " + channel + " carries no clock, expected one of " +
            hertz(stated.frequency_hz.to_double()),
        "look at its connection and threshold, or measure without it");
  }
  return refuse("channel " + channel + " is broken into " +
                    std::to_string(within.size()) +
                    " parts, expected one clock throughout",
                "choose an unbroken part with --from and --span");
}

std::string wander_text(double relative) {
  return ppm(relative / kPpm);
}

/// Takes wander that the reference's time explains out of the warnings, and
/// says what is left.
void warn_of_wander(const ClockRatio& ratio, std::vector<Warning>& warnings) {
  if (!ratio.timed_by_reference) return;
  std::erase_if(warnings, [](const Warning& w) {
    return w.code == WarningCode::kWander;
  });
  const std::string timed =
      "; each is timed by those of the reference about it, jitter figures are "
      "not";
  if (ratio.common_wander) {
    warnings.push_back({WarningCode::kTimebaseWanders,
                        "the rate of the capture's time, over an eighth of it "
                        "or more, is up to " +
                            wander_text(*ratio.common_wander) +
                            " off its mean, and the times of edges move with "
                            "it" +
                            timed});
  } else if (!ratio.own_wander) {
    warnings.push_back(
        {WarningCode::kTimebaseWanders,
         "edges scatter more than white jitter of their own explains, as where "
         "the capture's time wanders" +
             timed});
  }
  if (!ratio.own_wander) return;
  warnings.push_back(
      {WarningCode::kWander,
       "the mean frequency over an eighth of the capture or more is up to " +
           wander_text(*ratio.own_wander) +
           " off that of all of it against the reference, more than sampling "
           "and jitter explain; within less time it may move by more; the "
           "uncertainty of the mean is by that scatter"});
}

/// Whether the two rates can both be true.
std::optional<Warning> contradiction(const ReferenceChannel& reference,
                                     const Timebase& stated) {
  const Timebase seen =
      timebase_by_reference(reference.stated, reference.estimate.frequency);
  const double apart = seen.offset.value() - stated.offset.value();
  const double allowed = seen.tolerance.value() + stated.tolerance.value();
  if (std::abs(apart) <= allowed) return std::nullopt;
  return Warning{WarningCode::kReferenceContradicts,
                 "by the reference the instrument's timebase is off by " +
                     ppm(seen.offset.value()) + ", but it is " +
                     timebase_kind_name(stated.kind) + " to be within " +
                     ppm(stated.offset.value()) + " ± " +
                     ppm(stated.tolerance.value()) + ", and only ±" +
                     ppm(seen.tolerance.value()) +
                     " is left by the reference: one of the two is wrong"};
}

/// Why the reference is not to be trusted; empty: it is.
std::string doubt(const Setting& s, const ReferenceChannel& reference,
                  const ChannelResult& seen) {
  const double silence =
      static_cast<double>((reference.view.from() - s.from).count());
  if (silence > kStopPeriods * reference.estimate.period_ticks) {
    return "it begins " + number_text(silence * s.scale.tick_s.to_double(), 4) +
           " s after what is analysed";
  }
  if (seen.edges.missing + seen.edges.extra > 0) {
    return "it lost " + std::to_string(seen.edges.missing) +
           " cycles and has " + std::to_string(seen.edges.extra) +
           " extra edges";
  }
  for (const Warning& w : seen.warnings) {
    const WarningInfo& info = warning_info(w.code);
    if (info.forbids_pass) return w.message + " (" + info.name + ")";
  }
  return "";
}

std::vector<Warning> warnings_of_reference(const Setting& s,
                                           const ReferenceChannel& reference,
                                           const ChannelResult& seen) {
  std::vector<Warning> warnings;
  const std::string shown = printable(reference.name);
  if (!reference.stated.tolerance_ppm) {
    warnings.push_back({WarningCode::kReferenceAssumed,
                        "the tolerance of the reference is not stated; ±" +
                            ppm(reference_tolerance(reference.stated).value()) +
                            " is assumed: state it, as in " + shown + "=" +
                            hertz(reference.stated.frequency_hz.to_double()) +
                            "±1ppm"});
  }
  if (const auto& few = seen.few_phases) {
    warnings.push_back(
        {WarningCode::kReferenceCommensurate,
         "the reference meets the sampler at " + std::to_string(few->periods) +
             " of its phases only, so that it shows the timebase no finer than "
             "a sample in the whole capture and may hide slow wander; a "
             "reference that is no simple fraction of the sample rate shows "
             "more"});
  }
  if (auto found = contradiction(reference, s.options.timebase)) {
    warnings.push_back(*std::move(found));
  }
  const std::string why = doubt(s, reference, seen);
  if (!why.empty()) {
    warnings.push_back(
        {WarningCode::kReferenceDoubtful,
         "the reference on " + shown + " is not to be trusted: " + why});
  }
  return warnings;
}

}  // namespace

Result<std::size_t> find_reference(const ReferenceClock& stated,
                                   const Capture& capture) {
  std::vector<std::string> names;
  for (std::size_t i = 0; i < capture.channels.size(); ++i) {
    const ChannelRecord& record = capture.channels[i];
    names.push_back(record.name);
    if (std::ranges::find(record.asked, stated.channel) != record.asked.end()) {
      return i;
    }
  }
  const auto found = matching_channels(names, stated.channel);
  if (found.size() == 1) return found.front();
  if (found.empty()) {
    return refuse(
        "found " + no_such_channel(capture.channel_names, stated.channel),
        did_you_mean(capture.channel_names, stated.channel));
  }
  return failure(
      ErrorCode::kUsage,
      "reference: found several channels " + printable(stated.channel),
      "give the full name");
}

Result<ReferenceChannel> read_reference(const ReferenceClock& stated,
                                        const Setting& s,
                                        const ChannelRecord& record,
                                        const ParallelFor& parallel_for) {
  const std::string shown = printable(record.name);
  EdgeStore store = number_cycles(record, s.scale.window_ticks.to_double());
  const auto only = only_stretch(s, store, shown, stated);
  if (!only) return tl::unexpected(only.error());
  const Stretch& stretch = store.stretches[*only];
  const EdgeView view(stretch, std::max(stretch.first, s.from),
                      std::min(stretch.last, s.to));
  auto estimate = estimate_clock(view, s.scale, parallel_for);
  if (!estimate) {
    const Error& why = estimate.error();
    return refuse("channel " + shown + ": " + why.message,
                  why.hint.empty() ? "capture longer" : why.hint);
  }
  const double f = estimate->frequency.frequency.value();
  const double expected = stated.frequency_hz.to_double();
  if (std::abs(f / expected - 1.0) > kOtherClock) {
    return refuse("channel " + shown + " shows " + hertz(f) + ", expected " +
                      hertz(expected) + " within 10 %",
                  "state its own frequency, or name another channel");
  }
  // A view points to its stretch, which stays where it is when the store is
  // moved.
  return ReferenceChannel{
      stated,   record.name, std::move(store),    *only, s.scale,
      s.origin, view,        *std::move(estimate)};
}

Ppm time_wander(const ReferenceChannel& reference) {
  return Ppm(reference.estimate.wander.value_or(0.0) / kPpm);
}

std::optional<CommonViews> common_with_reference(const Setting& s,
                                                 const EdgeView& view) {
  const ReferenceChannel& r = *s.reference;
  return common_window({view, s.scale, s.origin}, {r.view, r.scale, r.origin});
}

Result<Budget> budget_against(const Setting& s, const CommonViews& views,
                              ClockEstimate& clock,
                              const ParallelFor& parallel_for) {
  const auto reference =
      estimate_clock(views.reference.view, views.reference.scale, parallel_for);
  if (!reference) return tl::unexpected(reference.error());
  const ClockRatio ratio =
      relate_clocks(views, clock, *reference, parallel_for);
  warn_of_wander(ratio, clock.warnings);
  // Of all of the reference it is said elsewhere; this is of a part.
  for (const Warning& w : reference->warnings) {
    if (!warning_info(w.code).forbids_pass) continue;
    clock.warnings.push_back({WarningCode::kReferenceDoubtful,
                              "in the time of this clock the reference has " +
                                  w.message + " (" + warning_info(w.code).name +
                                  ")"});
  }
  return make_budget_against(s.reference->stated, clock.frequency, ratio,
                             s.options.coverage);
}

Setting within_reference(const Setting& s, const ReferenceChannel& reference) {
  const double ticks =
      reference.scale.tick_s.to_double() / s.scale.tick_s.to_double();
  const auto here = [&](Ticks t) {
    const auto since = static_cast<double>((t - reference.origin).count());
    return s.origin + Ticks(std::llround(since * ticks));
  };
  Setting own = s;
  own.reference = &reference;
  own.from = std::max(s.from, here(reference.view.from()));
  own.to = std::min(s.to, here(reference.view.to()));
  return own;
}

void describe_reference(const Setting& s, const ReferenceChannel& reference,
                        CaptureResult& result) {
  ChannelResult& channel = result.channels.back();
  const FrequencyEstimate& seen = reference.estimate.frequency;
  channel.is_reference = true;
  // What moves is the capture's time: the reference itself is as stated.
  channel.course.clear();
  channel.settled_after.reset();
  // Another clock was expected, if any.
  channel.jitter.tie_nominal_rms.reset();
  channel.jitter.tie_nominal_peak_to_peak.reset();
  channel.budget =
      budget_of_reference(reference.stated, seen, s.options.coverage);
  for (StretchRecord& stretch : channel.stretches) {
    stretch.budget = channel.budget;
  }
  result.reference =
      ReferenceResult{reference.stated, reference.name,
                      timebase_by_reference(reference.stated, seen)};
  for (Warning& w : warnings_of_reference(s, reference, channel)) {
    result.warnings.push_back(std::move(w));
  }
}

}  // namespace clockassay
