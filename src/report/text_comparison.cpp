// SPDX-License-Identifier: GPL-3.0-or-later
#include <string>

#include "report/number_format.h"
#include "report/text_parts.h"

namespace clockassay {
namespace {

std::string what_became(const ClockShift& s) {
  switch (s.presence) {
    case Presence::kOnlyBefore:
      return "GONE";
    case Presence::kOnlyAfter:
      return "NEW";
    case Presence::kInBoth:
      break;
  }
  return s.significant ? "MOVED" : "NOT SEEN TO MOVE";
}

std::string limit_words(const ComparisonOptions& o) {
  if (!o.limit) return "";
  return "limit " + limits(o.limit->low_ppm.to_double(),
                           o.limit->high_ppm.to_double(), "ppm");
}

void put_shift_line(TextLayout& out, const ClockShift& s,
                    const ComparisonOptions& options, bool color) {
  std::vector<std::string> parts = {name_text(s.channel)};
  if (s.presence == Presence::kInBoth) {
    parts.push_back(
        signed_with_uncertainty(s.shift.value(), s.expanded.value(), "ppm") +
        " (" + coverage_percent(options.coverage) + ")");
  }
  if (!s.decision) {
    parts.insert(parts.begin(), what_became(s));
    return out.headline(parts);
  }
  parts.push_back(shift_became(s));
  parts.push_back(limit_words(options));
  put_decision_line(out, *s.decision, parts, color);
}

void put_seen(TextLayout& out, const char* label,
              const std::optional<ClockSeen>& c, double coverage) {
  if (!c) return out.labelled(label, "no clock");
  const std::string percent = " (" + coverage_percent(coverage) + ")";
  out.labelled(label, unbroken(seen_frequency(*c) + percent));
  // What the capture itself leaves open: that is what the shift is made of.
  const double f = c->frequency.value();
  out.labelled("", unbroken(frequency_with_uncertainty(
                       f, f * 1e-6 * c->expanded_alone.value())) +
                       unbroken(percent) + ", timebase left out");
}

void put_jitter(TextLayout& out, const ClockShift& s) {
  if (s.edge_jitter_change) {
    const auto jitter = [](const ClockSeen& c) {
      return unbroken(time_with_uncertainty(
          c.edge_jitter->value, 2.0 * c.edge_jitter->standard_uncertainty));
    };
    out.labelled("edge jitter", "rms " + jitter(*s.before) + " before, " +
                                    jitter(*s.after) + " after" +
                                    (s.jitter_changed ? ": it changed" : ""));
  }
  if (s.period_jitter_ratio) {
    out.labelled("period jitter", number_to_digits(*s.period_jitter_ratio, 3) +
                                      " times what it was");
  }
}

void put_duty(TextLayout& out, const ClockShift& s) {
  if (!s.duty_change) return;
  const double U = 2.0 * s.duty_change->standard_uncertainty;
  if (!(U > 0.0)) return;
  out.labelled("duty", "changed by " +
                           signed_with_uncertainty(100.0 * s.duty_change->value,
                                                   100.0 * U, "%") +
                           " of a period" +
                           (s.duty_changed ? "" : ", which may be nothing"));
}

void put_shift(TextLayout& out, const ClockShift& s, double coverage) {
  put_seen(out, "before", s.before, coverage);
  put_seen(out, "after", s.after, coverage);
  put_jitter(out, s);
  put_duty(out, s);
  for (const auto& seen : {s.before, s.after}) {
    if (seen && !seen->doubt.empty()) {
      out.labelled("in doubt", message_text(seen->doubt));
    }
  }
}

std::string timebase_words(const ComparisonResult& c) {
  if (!c.options.moves) {
    return "timebases: each its own, before " +
           timebase_text(c.timebase_before) + ", after " +
           timebase_text(c.timebase_after) +
           "; where one instrument took both, --same-timebase says so and U "
           "comes down";
  }
  return "timebase: one instrument took both; between them it moved by at most "
         "±" +
         plain_number(c.options.moves->value()) + " ppm (" +
         (c.movement_assumed ? "assumed, not stated)" : "stated)");
}

}  // namespace

std::string seen_frequency(const ClockSeen& c) {
  const double f = c.frequency.value();
  return frequency_with_uncertainty(f, f * 1e-6 * c.expanded.value());
}

std::string shift_became(const ClockShift& s) {
  const std::string word = what_became(s);
  return word == "MOVED"                      ? "moved"
         : s.presence == Presence::kInBoth    ? "not seen to move"
         : s.presence == Presence::kOnlyAfter ? "new"
                                              : "gone";
}

void put_comparison(TextLayout& out, const ComparisonResult& c, bool color,
                    bool quiet) {
  for (const ClockShift& s : c.shifts) {
    put_shift_line(out, s, c.options, color);
    if (!quiet) put_shift(out, s, c.options.coverage);
  }
  if (quiet) return;
  out.blank_line();
  if (c.moved_alike) {
    out.paragraph(
        "All clocks moved by the same, as far as the captures tell: the "
        "instrument's time may have moved, or a source they share. A reference "
        "in both captures tells (--reference).");
  }
  out.paragraph("before " + message_text(c.before));
  out.paragraph("after  " + message_text(c.after));
  out.paragraph(timebase_words(c));
}

}  // namespace clockassay
