// SPDX-License-Identifier: GPL-3.0-or-later
#include <algorithm>
#include <cmath>
#include <ctime>
#include <optional>
#include <string>
#include <vector>

#include "clockassay/base/number_text.h"
#include "report/number_format.h"
#include "report/text_parts.h"

namespace clockassay {
namespace {

// Rows of the table of points. Chosen: what a person looks through; a program
// has them all.
constexpr std::size_t kMostRows = 40;

std::string time_words(double seconds) {
  const auto whole = static_cast<std::time_t>(std::floor(seconds));
  std::tm time{};
  gmtime_r(&whole, &time);
  char text[64];
  std::strftime(text, sizeof text, "%Y-%m-%d %H:%M", &time);
  return text;
}

std::string name_of(const Trend& t) {
  std::string name = name_text(t.clock);
  for (const Tag& tag : t.of) {
    name += ", " + name_text(tag.key) + ' ' + name_text(tag.value);
  }
  return name;
}

std::string place_of(const TrendPoint& p) {
  return p.label.empty() ? unbroken(time_words(p.taken_s))
                         : "build " + name_text(p.label) + ", " +
                               unbroken(time_words(p.taken_s));
}

std::string value_words(const TrendPoint& p) {
  if (!p.ppm) return "no clock";
  return p.expanded ? signed_with_uncertainty(*p.ppm, *p.expanded, "ppm")
                    : number_text(*p.ppm, 5) + " ppm";
}

// The last capture, and since when there has been no clock, if there is none.
std::string latest_words(const Trend& t) {
  std::size_t since = t.points.size();
  while (since > 0 && !t.points[since - 1].ppm) --since;
  std::string words = "latest " + value_words(t.points.back());
  if (since < t.points.size()) words += ", since " + place_of(t.points[since]);
  return words;
}

void put_trend_line(TextLayout& out, const Trend& t) {
  out.headline(trend_parts(t));
}

// The capture with the clock before another.
const TrendPoint& with_clock_before(const Trend& t, std::size_t point) {
  std::size_t i = point - 1;
  while (i > 0 && !t.points[i].ppm) --i;
  return t.points[i];
}

// For any step to be told.
bool is_too_short(const Trend& t) {
  return t.points.size() - t.silent < t.fewest_for_a_shift;
}

void put_shifts(TextLayout& out, const Trend& t) {
  if (is_too_short(t) && t.points.size() - t.silent > 1) {
    out.labelled("steps",
                 "told of " + std::to_string(t.fewest_for_a_shift) +
                     " captures with a clock or more, at these --alarms: fewer "
                     "might stand in such an order by chance. What one capture "
                     "shows against another: compare");
  }
  for (const LevelShift& s : t.shifts) {
    const TrendPoint& before = with_clock_before(t, s.first);
    const TrendPoint& first = t.points[s.first];
    out.labelled("step", unbroken(signed_with_uncertainty(s.after - s.before,
                                                          s.expanded, "ppm")) +
                             " (95 %) between " + place_of(before) + " and " +
                             place_of(first) + "; by chance " +
                             (s.chance < 0.002 ? "less than one time in 500"
                                               : number_text(s.chance, 2)));
  }
  for (const LevelShift& s : t.jitter_shifts) {
    out.labelled("jitter step",
                 "period jitter " + time_to_digits(s.before, 3) + " before, " +
                     time_to_digits(s.after, 3) + " after, from capture " +
                     std::to_string(s.first + 1) + " of those that show it");
  }
}

void put_limits(TextLayout& out, const Trend& t) {
  if (!t.limits) return;
  const ControlLimits& l = *t.limits;
  out.labelled("control limits",
               limits_to(l.low, l.high, 2.0 * l.sigma, "ppm") +
                   (t.shifts.empty() ? " of all" : " since the last step") +
                   ", centre " + number_text(l.centre, 4) + " ppm");
  std::size_t beyond = 0;
  for (const TrendPoint& p : t.points) beyond += p.beyond_limits ? 1U : 0U;
  if (beyond == 0) return;
  out.labelled("beyond them",
               std::to_string(beyond) +
                   (beyond == 1 ? " capture" : " captures") +
                   (t.shifts.empty() ? ""
                                     : ", each by the limits of its own "
                                       "level"));
}

// Points of which the same is known.
struct TimedAlike {
  std::optional<Timebase> timebase;
  std::size_t points = 0;
};

std::vector<TimedAlike> timed_alike(const Trend& t) {
  std::vector<TimedAlike> groups;
  for (const TrendPoint& p : t.points) {
    const auto known =
        std::find_if(groups.begin(), groups.end(), [&p](const TimedAlike& g) {
          return g.timebase && p.timebase
                     ? is_known_alike(*g.timebase, *p.timebase)
                     : g.timebase.has_value() == p.timebase.has_value();
        });
    if (known == groups.end()) {
      groups.push_back({p.timebase, 1});
    } else {
      ++known->points;
    }
  }
  return groups;
}

void put_timebases(TextLayout& out, const Trend& t) {
  const auto groups = timed_alike(t);
  const char* label = "timebase";
  for (const TimedAlike& g : groups) {
    std::string text = g.timebase
                           ? timebase_text(*g.timebase)
                           : "not kept with the results: an earlier version "
                             "stored them";
    if (groups.size() > 1) text += "; of " + std::to_string(g.points);
    out.labelled(label, text);
    label = "";
  }
}

void put_points(TextLayout& out, const Trend& t) {
  const std::size_t from =
      t.points.size() > kMostRows ? t.points.size() - kMostRows : 0;
  out.labelled("history",
               from > 0 ? "the last " + std::to_string(kMostRows) : "");
  for (std::size_t i = from; i < t.points.size(); ++i) {
    const TrendPoint& p = t.points[i];
    std::string words = place_of(p) + "  " + value_words(p);
    if (p.decision) words += "  " + *p.decision;
    if (p.beyond_limits) words += "  beyond its control limits";
    out.item("-", words);
  }
}

}  // namespace

std::vector<std::string> trend_parts(const Trend& t) {
  std::string steps = is_too_short(t) ? "too few for a step" : "no step";
  if (!t.shifts.empty()) {
    steps = std::to_string(t.shifts.size()) +
            (t.shifts.size() == 1 ? " step" : " steps");
  }
  const std::string captures =
      std::to_string(t.points.size()) +
      (t.points.size() == 1 ? " capture" : " captures");
  return {name_of(t), captures, steps, latest_words(t)};
}

void put_trends(TextLayout& out, const std::vector<Trend>& trends, bool quiet) {
  for (std::size_t i = 0; i < trends.size(); ++i) {
    const Trend& t = trends[i];
    if (i > 0 && !quiet) out.blank_line();
    put_trend_line(out, t);
    if (quiet) continue;
    put_shifts(out, t);
    put_limits(out, t);
    put_timebases(out, t);
    if (t.is_relative) {
      out.labelled("ppm",
                   "of the median: not every result was expected to be "
                   "anything");
    }
    if (t.silent > 0) {
      out.labelled("no clock", "in " + std::to_string(t.silent) + " of " +
                                   std::to_string(t.points.size()) +
                                   " captures");
    }
    if (t.same_time > 0) {
      out.labelled("order",
                   std::to_string(t.same_time) +
                       " captures have the time of the one before, and "
                       "stand in order of their names: --tag "
                       "taken_at=... says when each was taken");
    }
    put_points(out, t);
  }
}

}  // namespace clockassay
