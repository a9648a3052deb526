// SPDX-License-Identifier: GPL-3.0-or-later
#include "analysis/channel_warnings.h"

#include <algorithm>
#include <cmath>

#include "clockassay/base/number_text.h"
#include "clockassay/edges/numbering.h"
#include "clockassay/estimate/pulse_widths.h"
#include "verdict/wording.h"

namespace clockassay {
namespace {

/// By how much the frequency stepped from one stretch to the next, where that
/// is known and not seen at a glance.
std::string change_words(const StretchRecord& before,
                         const StretchRecord& after) {
  if (after.begins_after != StretchBreak::kFrequencyStep || !before.budget ||
      !after.budget) {
    return "";
  }
  const FrequencyResult& from = before.budget->relative_to_timebase;
  const FrequencyResult& to = after.budget->relative_to_timebase;
  const double change = (to.value - from.value).value();
  const double unknown =
      (to.expanded_uncertainty + from.expanded_uncertainty).value();
  if (std::abs(change) <= unknown) return "";
  const double ppm = 1e-6 * from.value.value();
  return " (" + ppm_text(change / ppm, unknown / ppm) + " ppm)";
}

}  // namespace

std::string break_words(StretchBreak why) {
  switch (why) {
    case StretchBreak::kStart:
      return "the capture begins";
    case StretchBreak::kUnknownLevel:
      return "the level was unknown";
    case StretchBreak::kStopped:
      return "the clock stopped";
    case StretchBreak::kRegimeChange:
    case StretchBreak::kFrequencyStep:
      return "the frequency or phase jumped";
    case StretchBreak::kSettlingEnds:
      return "the time for settling ended";
  }
  return "";
}

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
  const bool high = highs_may_be_missed(pulses);
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

void warn_of_breaks(const Setting& s, const EdgeStore& store,
                    const std::vector<AnalysedStretch>& stretches,
                    const std::optional<Rational>& settle_within_s,
                    std::vector<Warning>& warnings) {
  const auto while_settling = [&](const AnalysedStretch& a) {
    return settle_within_s &&
           a.record.from.value() <= settle_within_s->to_double();
  };
  // Those that begin later than the clock may settle, and the one before them.
  std::size_t count = 1;
  for (std::size_t i = 1; i < stretches.size(); ++i) {
    if (stretches[i].why == StretchBreak::kSettlingEnds) continue;
    count += !while_settling(stretches[i]);
  }
  if (count > 1) {
    const AnalysedStretch& last = stretches.back();
    warnings.push_back(
        {WarningCode::kSeveralStretches,
         "the capture falls into " + std::to_string(count) +
             " stretches; the result is that of the last, which begins at " +
             seconds_text(last.record.from.value()) + ", after " +
             break_words(last.why) +
             change_words(stretches[stretches.size() - 2].record,
                          last.record)});
  }
  if (stretches.back().uneven_cycles > 0) {
    warnings.push_back(
        {WarningCode::kUnevenPeriods,
         "periods vary by more than a quarter, in " +
             std::to_string(stretches.back().uneven_cycles) +
             " cycles: either the clock jitters that much, or pulses are "
             "missing in a regular pattern and the clock is another"});
  }
  const bool before_settled =
      settle_within_s && store.last_unnumbered &&
      since_first_stamp(s, *store.last_unnumbered).value() <=
          settle_within_s->to_double();
  if (store.unnumbered_edges > 0 && !before_settled) {
    warnings.push_back({WarningCode::kRepairDoubtful,
                        std::to_string(store.unnumbered_edges) +
                            " edges belong to no steady clock and were left "
                            "out"});
  }
}

void warn_of_silence(const Setting& s, const AnalysedStretch& last,
                     std::vector<Warning>& warnings) {
  if (!last.estimate) return;
  const double silence =
      since_first_stamp(s, s.to).value() - last.run_to.value();
  if (silence <= kStopPeriods * last.estimate->period.value()) return;
  warnings.push_back({WarningCode::kClockStopped,
                      "no edge is seen in the last " + seconds_text(silence) +
                          " of what is analysed: the clock stopped, or its "
                          "level is unknown"});
}

void warn_of_late_begin(const Setting& s, const AnalysedStretch& first,
                        std::vector<Warning>& warnings) {
  if (!first.estimate) return;
  const double silence =
      first.record.from.value() - since_first_stamp(s, s.from).value();
  if (silence <= kStopPeriods * first.estimate->period.value()) return;
  warnings.push_back({WarningCode::kBeginsLate,
                      "no edge is seen in the first " + seconds_text(silence) +
                          " of what is analysed: the clock starts there, or "
                          "its level is unknown before"});
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

}  // namespace clockassay
