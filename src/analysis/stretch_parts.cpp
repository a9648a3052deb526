// SPDX-License-Identifier: GPL-3.0-or-later
#include "analysis/stretch_parts.h"

#include <algorithm>

#include "analysis/channel_names_asked.h"
#include "analysis/channel_warnings.h"
#include "analysis/reference_channel.h"
#include "clockassay/estimate/frequency_steps.h"

namespace clockassay {
namespace {

/// First tick after the time stated for settling, which counts from the first
/// stamp; the last there is where that cannot be said in ticks.
Ticks settling_end(const Setting& s, const Rational& within_s) {
  const auto ticks = divide(within_s, s.scale.tick_s);
  if (!ticks || *ticks > Rational((s.to - s.origin).count())) return s.to;
  return s.origin +
         Ticks(static_cast<std::int64_t>(ticks->num() / ticks->den()) + 1);
}

CoursePoint as_point(const Setting& s, const FrequencyPart& part) {
  const double tick_s = s.scale.tick_s.to_double();
  const double f = 1.0 / (part.period_ticks * tick_s);
  return {since_first_stamp(s, part.from), since_first_stamp(s, part.to),
          Hertz(f), Hertz(f * part.most_off_ticks / part.period_ticks)};
}

/// Adds the stretch between two instants, parted at its steps. What comes after
/// the last one is looked at again, by itself: an oscillator that wanders hides
/// where it gave way to one that does not, and what is left of it shows better
/// when it is small.
void follow(const Setting& s, const Stretch& stretch, StretchPart part,
            const ParallelFor& parallel_for, StretchParts& out) {
  constexpr int kRounds = 4;  // chosen: each leaves a small part of the last
  const Ticks end = part.to;
  bool stepped = true;
  for (int round = 0; stepped && round < kRounds; ++round) {
    const FrequencyCourse course = follow_frequency(
        EdgeView(stretch, part.from, end), s.scale, parallel_for);
    for (const FrequencyPart& p : course.parts) {
      out.course.push_back(as_point(s, p));
    }
    for (const FrequencyStep& step : course.steps) {
      part.to = step.before;
      out.parts.push_back(part);
      part = {step.after, end, StretchBreak::kFrequencyStep};
    }
    stepped = !course.steps.empty();
  }
  out.parts.push_back(part);
}

Ppm timebase_offset(const Setting& s) {
  if (s.reference == nullptr) return s.options.timebase.offset;
  return timebase_by_reference(s.reference->stated,
                               s.reference->estimate.frequency)
      .offset;
}

}  // namespace

std::optional<Rational> settling_asked(const Setting& s,
                                       const ChannelRecord& record) {
  std::optional<Rational> latest;
  for (const SettlingAsked& asked : s.options.settling) {
    if (asked.channel && !is_meant(*asked.channel, record.name, record.asked)) {
      continue;
    }
    if (!latest || asked.within_s > *latest) latest = asked.within_s;
  }
  return latest;
}

std::optional<NominalClock> nominal_clock(const Setting& s,
                                          const ChannelRecord& record) {
  std::optional<NominalClock> nominal;
  for (const FrequencyExpected& e : s.options.expected) {
    if (e.channel && !is_meant(*e.channel, record.name, record.asked)) continue;
    if (nominal && nominal->frequency_hz != e.frequency_hz) return std::nullopt;
    nominal = NominalClock{e.frequency_hz, timebase_offset(s)};
  }
  return nominal;
}

StretchParts part_stretch(const Setting& s, const Stretch& stretch,
                          StretchBreak why,
                          const std::optional<Rational>& settle_within_s,
                          const ParallelFor& parallel_for) {
  StretchPart whole{std::max(stretch.first, s.from),
                    std::min(stretch.last, s.to), why};
  StretchParts out;
  if (settle_within_s) {
    const Ticks end = settling_end(s, *settle_within_s);
    if (end > whole.from && end <= whole.to) {
      follow(s, stretch, {whole.from, end - Ticks(1), why}, parallel_for, out);
      whole = {end, whole.to, StretchBreak::kSettlingEnds};
    }
  }
  follow(s, stretch, whole, parallel_for, out);
  return out;
}

std::optional<CoursePoint> as_point(const StretchRecord& stretch) {
  if (!stretch.budget) return std::nullopt;
  // As far out as the parts': from two to five standard uncertainties.
  constexpr double kFurther = 2.5;
  const FrequencyResult& own = stretch.budget->relative_to_timebase;
  return CoursePoint{stretch.from, stretch.to, own.value,
                     kFurther * own.expanded_uncertainty};
}

FrequencyHistory history_of(const ChannelResult& channel) {
  FrequencyHistory history;
  history.course = channel.course;
  history.seen_from = channel.stretches.front().from;
  for (std::size_t i = 1; i < channel.stretches.size(); ++i) {
    const StretchRecord& stretch = channel.stretches[i];
    if (stretch.begins_after == StretchBreak::kSettlingEnds) continue;
    history.breaks.push_back({channel.stretches[i - 1].to, stretch.from,
                              break_words(stretch.begins_after)});
  }
  const FrequencyResult& own = channel.budget->relative_to_timebase;
  history.final_frequency = own.value;
  history.final_half_width = own.expanded_uncertainty;
  history.time_wander = channel.time_wander;
  return history;
}

}  // namespace clockassay
