// SPDX-License-Identifier: GPL-3.0-or-later
#include <algorithm>

#include "clockassay/analysis/analyse.h"
#include "clockassay/capture/time_grid.h"

namespace clockassay {
namespace {

/// "clk" of "top.dut.clk".
std::string_view leaf_name(std::string_view name) {
  const auto dot = name.rfind('.');
  return dot == std::string_view::npos ? name : name.substr(dot + 1);
}

/// The one name that is `asked`, in full or, where only one has it, as leaf.
const std::string* find_name(const std::vector<const std::string*>& names,
                             std::string_view asked) {
  const std::string* leaf = nullptr;
  int leaves = 0;
  for (const std::string* name : names) {
    if (*name == asked) return name;
    if (leaf_name(*name) == asked) {
      leaf = name;
      ++leaves;
    }
  }
  return leaves == 1 ? leaf : nullptr;
}

std::string listed(const std::vector<ChannelResult>& channels) {
  std::string list;
  for (const ChannelResult& c : channels) {
    if (!list.empty()) list += ", ";
    list += c.name;
  }
  return list;
}

Verdict judge_channel(const ClockSpec& clock,
                      const std::vector<Suspect>& suspects,
                      const CaptureResult& capture,
                      const ChannelResult& channel, const Timebase& timebase) {
  if (!channel.budget) {
    return judge_missing_clock(
        clock, capture.path,
        "channel " + channel.name + " has too few edges for a frequency");
  }
  ClockEvidence evidence;
  evidence.capture = capture.path;
  evidence.channel = channel.name;
  evidence.budget = *channel.budget;
  evidence.timebase = timebase;
  evidence.warnings = capture.warnings;
  evidence.warnings.insert(evidence.warnings.end(), channel.warnings.begin(),
                           channel.warnings.end());
  evidence.duration = channel.analysed_duration;
  // An upper bound of the interval would make the sampler seem too slow.
  if (capture.sample_interval_source !=
      sample_interval_source_name(SampleIntervalSource::kInferred)) {
    evidence.sample_interval = capture.sample_interval;
  }
  return judge_clock(clock, suspects, evidence);
}

/// The verdict on a named channel that carries no clock.
Verdict judge_idle(const ClockSpec& clock, const CaptureResult& capture) {
  std::vector<const std::string*> idle;
  for (const std::string& name : capture.idle_channels) idle.push_back(&name);
  if (find_name(idle, *clock.channel) != nullptr) {
    return judge_missing_clock(clock, capture.path,
                               "channel " + *clock.channel +
                                   " never changes often enough to be a "
                                   "clock");
  }
  const std::string present =
      capture.channels.empty()
          ? "no channel of the capture carries a clock"
          : "the clocks there are: " + listed(capture.channels);
  return judge_missing_clock(
      clock, capture.path,
      "the capture has no channel " + *clock.channel + "; " + present);
}

Result<Verdict> judge_one(const ClockSpec& clock,
                          const std::vector<Suspect>& suspects,
                          const CaptureResult& capture,
                          const Timebase& timebase) {
  if (!clock.channel) {
    if (capture.channels.empty()) {
      return judge_missing_clock(clock, capture.path,
                                 "no channel of the capture carries a clock");
    }
    if (capture.channels.size() > 1) {
      return failure(
          ErrorCode::kUsage,
          "several channels carry a clock (" + listed(capture.channels) +
              ") and nothing says which one \"" + clock.name + "\" is",
          "name it with --channel, or with \"channel\" in a specification");
    }
    return judge_channel(clock, suspects, capture, capture.channels.front(),
                         timebase);
  }
  std::vector<const std::string*> names;
  for (const ChannelResult& c : capture.channels) names.push_back(&c.name);
  const std::string* name = find_name(names, *clock.channel);
  if (name == nullptr) return judge_idle(clock, capture);
  const auto channel =
      std::find_if(capture.channels.begin(), capture.channels.end(),
                   [&](const ChannelResult& c) { return c.name == *name; });
  return judge_channel(clock, suspects, capture, *channel, timebase);
}

}  // namespace

Result<std::vector<Verdict>> judge_capture(const Specification& specification,
                                           const CaptureResult& capture,
                                           const Timebase& timebase) {
  std::vector<Verdict> verdicts;
  for (const ClockSpec& clock : specification.clocks) {
    auto verdict = judge_one(clock, specification.suspects, capture, timebase);
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
