// SPDX-License-Identifier: GPL-3.0-or-later
#include "verdict/settling_check.h"

#include <algorithm>
#include <cmath>
#include <vector>

#include "verdict/wording.h"

namespace clockassay {
namespace {

constexpr double kPpm = 1e-6;

std::string seconds_text(double seconds) {
  return number_text(seconds, 6) + " s";
}

double allowed_ppm(const ToleranceBand& make) {
  return 0.5 * (make.high_ppm.to_double() - make.low_ppm.to_double());
}

double off_ppm(const CoursePoint& p, const FrequencyHistory& history) {
  const double final_hz = history.final_frequency.value();
  return (p.frequency.value() - final_hz) / final_hz / kPpm;
}

/// How far two parts may be apart by the capture's own time: one may be early
/// by all of its wander and the other late.
Ppm apart_by_time(const FrequencyHistory& history) {
  return 2.0 * history.time_wander;
}

bool is_across_a_break(const CoursePoint& p, const FrequencyHistory& history) {
  return std::any_of(
      history.breaks.begin(), history.breaks.end(),
      [&](const ClockBreak& b) { return p.from < b.to && p.to > b.from; });
}

bool is_unsettled(const CoursePoint& p, const FrequencyHistory& history,
                  double allowed_ppm) {
  const Hertz one_ppm = kPpm * history.final_frequency;
  const Hertz by_time = apart_by_time(history).value() * one_ppm;
  const double off =
      std::abs(p.frequency.value() - history.final_frequency.value());
  return off > (p.most_off + history.final_half_width + by_time).value() &&
         off > (allowed_ppm * one_ppm).value();
}

bool is_later(const CoursePoint& p, const CoursePoint& than) {
  return p.from > than.from || (p.from == than.from && p.to < than.to);
}

/// The last point of the course of which `is_meant` is true.
template <class IsMeant>
const CoursePoint* last_of(const FrequencyHistory& history,
                           const IsMeant& is_meant) {
  const CoursePoint* last = nullptr;
  for (const CoursePoint& p : history.course) {
    if (is_meant(p) && (last == nullptr || is_later(p, *last))) last = &p;
  }
  return last;
}

/// A part wholly after the limit that is off, and that no break runs through: a
/// jump of the phase would show as a frequency there.
const CoursePoint* late_unsettled(const FrequencyHistory& history, double limit,
                                  double allowed_ppm) {
  return last_of(history, [&](const CoursePoint& p) {
    return p.from.value() >= limit && !is_across_a_break(p, history) &&
           is_unsettled(p, history, allowed_ppm);
  });
}

std::string off_text(const CoursePoint& p, const FrequencyHistory& history) {
  const double off = off_ppm(p, history);
  return "between " + seconds_text(p.from.value()) + " and " +
         seconds_text(p.to.value()) + " it ran " +
         above_or_below(off, 0.01 * off) + " the frequency it ended with";
}

/// Shown to be as near the final frequency as is allowed, by all that is not
/// known of the two.
bool is_shown_settled(const CoursePoint& p, const FrequencyHistory& history,
                      double allowed_ppm) {
  const Hertz one_ppm = kPpm * history.final_frequency;
  const Hertz by_time = apart_by_time(history).value() * one_ppm;
  const double off =
      std::abs(p.frequency.value() - history.final_frequency.value());
  return off + (p.most_off + history.final_half_width + by_time).value() <=
         (allowed_ppm * one_ppm).value();
}

double length_of(const CoursePoint& p) {
  return (p.to - p.from).value();
}

/// Whether parts no longer than that leave out nothing from `limit` on that is
/// longer than `gap`; at the end, where parts need not fit, than a quarter of
/// one of them. In: by their beginning.
bool covers(const std::vector<CoursePoint>& parts, double longest, double limit,
            double end, double gap) {
  constexpr double kAtEnd = 0.25;
  double reached = limit;
  for (const CoursePoint& p : parts) {
    if (length_of(p) > longest) continue;
    if (p.from.value() > reached + gap) return false;
    reached = std::max(reached, p.to.value());
  }
  return reached + kAtEnd * longest >= end;
}

/// The shortest time for which it is shown that every mean over it, from the
/// limit on, is as allowed; absent: for none.
std::optional<Seconds> settled_over(const FrequencyHistory& history,
                                    double limit, double allowed_ppm) {
  const double gap = 2.0 / history.final_frequency.value();  // edge to edge
  std::vector<CoursePoint> parts;
  std::vector<double> lengths;
  double end = limit;
  for (const CoursePoint& p : history.course) {
    end = std::max(end, p.to.value());
    if (p.to.value() <= limit || !is_shown_settled(p, history, allowed_ppm)) {
      continue;
    }
    parts.push_back(p);
    lengths.push_back(length_of(p));
  }
  std::sort(parts.begin(), parts.end(),
            [](const CoursePoint& a, const CoursePoint& b) {
              return a.from < b.from;
            });
  std::sort(lengths.begin(), lengths.end());
  const auto shortest = std::partition_point(
      lengths.begin(), lengths.end(),
      [&](double longest) { return !covers(parts, longest, limit, end, gap); });
  if (shortest == lengths.end()) return std::nullopt;
  return Seconds(*shortest);
}

/// What keeps the check from a pass; empty: nothing.
std::string undecided_reason(const FrequencyHistory& history, double limit,
                             double allowed) {
  if (history.course.empty()) {
    return "it is seen for too few cycles to say how its frequency went";
  }
  const CoursePoint* last = last_unsettled(history, allowed);
  if (last != nullptr && last->to.value() > limit) {
    return off_text(*last, history) + (is_across_a_break(*last, history)
                                           ? ", or its phase jumped there"
                                           : "");
  }
  const auto late = std::find_if(
      history.breaks.begin(), history.breaks.end(),
      [limit](const ClockBreak& b) { return b.to.value() > limit; });
  if (late != history.breaks.end()) {
    return "later than that something changed: " + late->what + ", between " +
           seconds_text(late->from.value()) + " and " +
           seconds_text(late->to.value());
  }
  if (history.seen_from.value() > limit) {
    return "its edges are looked at from " +
           seconds_text(history.seen_from.value()) +
           " on, and whether it changed before that is not known";
  }
  const double known_ppm =
      history.final_half_width / history.final_frequency / kPpm;
  if (known_ppm > allowed) {
    return "the frequency it ended with is known to " +
           ppm_text(known_ppm, known_ppm) + " ppm, and " +
           number_text(allowed, 6) + " ppm are allowed";
  }
  const double by_time = apart_by_time(history).value();
  if (by_time > allowed) {
    return "by the reference the capture's own time takes two parts up to " +
           ppm_text(by_time, by_time) + " ppm apart, and " +
           number_text(allowed, 6) + " ppm are allowed";
  }
  return "";
}

}  // namespace

const CoursePoint* last_unsettled(const FrequencyHistory& history,
                                  double allowed_ppm) {
  return last_of(history, [&](const CoursePoint& p) {
    return is_unsettled(p, history, allowed_ppm);
  });
}

std::optional<Seconds> settled_after(const FrequencyHistory& history,
                                     double allowed_ppm) {
  if (history.course.empty()) return std::nullopt;
  const CoursePoint* last = last_unsettled(history, allowed_ppm);
  if (last == nullptr) return history.seen_from;
  const auto goes_on = [last](const CoursePoint& p) { return p.to > last->to; };
  if (std::none_of(history.course.begin(), history.course.end(), goes_on)) {
    return std::nullopt;
  }
  return last->to;
}

SettlingResult check_settling(const ClockSpec& clock,
                              const FrequencyHistory& history) {
  const double limit = clock.settle_within_s->to_double();
  const double allowed = allowed_ppm(clock.tolerance.make);
  SettlingResult result;
  Check& check = result.check;
  check.check = "settling";
  check.subject = "settled, since the first stamp";
  check.unit = "s";
  check.source = "specification";
  check.high = limit;
  const auto settled = settled_after(history, allowed);
  if (settled) check.value = settled->value();
  const std::string has_to =
      "The clock has to settle within " + seconds_text(limit) + "; ";
  if (const CoursePoint* late = late_unsettled(history, limit, allowed)) {
    check.decision = Decision::kFail;
    result.reason = has_to + off_text(*late, history) + ".";
    return result;
  }
  const std::string open = undecided_reason(history, limit, allowed);
  if (!open.empty()) {
    result.reason = has_to + open + ".";
    return result;
  }
  const auto over = settled_over(history, limit, allowed);
  if (!over) {
    result.reason = has_to +
                    "no part of the capture is known well enough to show that "
                    "it kept within " +
                    number_text(allowed, 6) + " ppm from then on.";
    return result;
  }
  const CoursePoint* last = last_unsettled(history, allowed);
  check.decision = Decision::kPass;
  result.reason =
      has_to + "it kept to the frequency it ended with " +
      (last == nullptr ? "all along"
                       : "from " + seconds_text(last->to.value()) + " on") +
      ", as means over " + number_text(over->value(), 3) +
      " s show; what was shorter is not seen.";
  return result;
}

}  // namespace clockassay
