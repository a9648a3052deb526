// SPDX-License-Identifier: GPL-3.0-or-later
#include "report/html_summary.h"

#include <algorithm>

#include "clockassay/report/error_text.h"
#include "report/check_words.h"
#include "report/html_node.h"
#include "report/number_format.h"
#include "report/text_parts.h"

namespace clockassay {
namespace {

constexpr const char* kErrorsId = "without-a-result";

std::string link_to(const std::string& id, Shown shown) {
  return shown == Shown::kRow ? std::string() : id;
}

std::string short_path(const std::string& path) {
  return path == "-" ? "standard input" : path;
}

std::string error_words(const Verdict& v) {
  if (!v.error) return "no clock";
  if (!v.expanded_uncertainty) return "";
  return signed_with_uncertainty(v.error->value(),
                                 v.expanded_uncertainty->value(), "ppm");
}

/// Of the check that the error is held against.
std::string limit_words(const Verdict& v) {
  for (const Check& c : v.checks) {
    if (c.check != "tolerance" && c.check != "temperature_range") continue;
    constexpr std::string_view kWord = "limit ";
    const std::string text = limit_text(c);
    return text.starts_with(kWord) ? text.substr(kWord.size()) : text;
  }
  return "";
}

/// What could not be used stands beside what could.
void add_error_rows(HtmlTable& table, const Record& record) {
  for (const Error& e : record.errors) {
    const std::string place = error_place(e);
    table.row({place.empty() ? "\u2013" : place, "no result",
               message_text(e.message)},
              kErrorsId);
  }
}

void add_verdict_rows(pugi::xml_node page, const Record& record,
                      const PageShare& share) {
  HtmlTable table(page, "All that was judged",
                  {"clock", "verdict", "#error", "#limit", "capture"},
                  CellNames::kInEach);
  for (std::size_t i = 0; i < record.verdicts.size(); ++i) {
    const Verdict& v = record.verdicts[i];
    table.row({v.clock.empty() ? v.capture : v.clock, decision_name(v.decision),
               error_words(v), limit_words(v), short_path(v.capture)},
              link_to(verdict_id(i), share.verdicts[i]));
  }
  add_error_rows(table, record);
}

void add_channel_rows(pugi::xml_node page, const Record& record,
                      const PageShare& share) {
  HtmlTable table(page, "All that was measured",
                  {"channel", "#frequency", "mind", "capture"},
                  CellNames::kInEach);
  for (std::size_t c = 0; c < record.captures.size(); ++c) {
    const CaptureResult& capture = record.captures[c];
    if (capture.channels.empty()) {
      table.row({"\u2013", "no channel carries a clock", "",
                 short_path(capture.path)});
    }
    for (std::size_t i = 0; i < capture.channels.size(); ++i) {
      const ChannelResult& channel = capture.channels[i];
      const std::size_t warnings = channel.warnings.size();
      table.row({channel.name,
                 channel.budget ? frequency_text(channel.budget->frequency)
                                : "no clock",
                 warnings == 0   ? ""
                 : warnings == 1 ? "1 warning"
                                 : std::to_string(warnings) + " warnings",
                 short_path(capture.path)},
                link_to(channel_id(c, i), share.channels[c][i]));
    }
  }
  add_error_rows(table, record);
}

void add_trend_rows(pugi::xml_node page, const Record& record,
                    const PageShare& share) {
  HtmlTable table(page, "All histories",
                  {"clock", "captures", "steps", "latest"}, CellNames::kInEach);
  for (std::size_t i = 0; i < record.trends.size(); ++i) {
    table.row(trend_parts(record.trends[i]),
              link_to(trend_id(i), share.trends[i]));
  }
}

void add_curve_rows(pugi::xml_node page, const Record& record,
                    const PageShare& share) {
  HtmlTable table(page, "All curves", {"board", "verdict", "worst case"},
                  CellNames::kInEach);
  for (std::size_t i = 0; i < record.drifts.size(); ++i) {
    const DriftResult& r = record.drifts[i];
    table.row(
        {r.board.empty() ? r.series : r.board,
         i < record.verdicts.size() ? decision_name(record.verdicts[i].decision)
                                    : "none asked for",
         drift_parts(r).front()},
        link_to(drift_id(i), share.drifts[i]));
  }
}

std::size_t channels_in(const Record& record) {
  std::size_t count = 0;
  for (const CaptureResult& c : record.captures) {
    count += std::max<std::size_t>(c.channels.size(), 1);
  }
  return count;
}

}  // namespace

std::string verdict_id(std::size_t verdict) {
  return "verdict-" + std::to_string(verdict + 1);
}

std::string channel_id(std::size_t capture, std::size_t channel) {
  return "channel-" + std::to_string(capture + 1) + "-" +
         std::to_string(channel + 1);
}

std::string drift_id(std::size_t drift) {
  return "curve-" + std::to_string(drift + 1);
}

std::string trend_id(std::size_t trend) {
  return "history-" + std::to_string(trend + 1);
}

void add_summary(pugi::xml_node page, const Record& record,
                 const PageShare& share) {
  const std::size_t errors = record.errors.size();
  pugi::xml_node section = add(page, "section", "", "summary");
  if (record.summary) add(section, "p", summary_words(*record.summary));
  if (record.drifts.size() > 1) {
    add_curve_rows(section, record, share);
  } else if (record.trends.size() > 1) {
    add_trend_rows(section, record, share);
  } else if (record.drifts.empty() && !record.comparison) {
    if (!record.verdicts.empty()) {
      if (record.verdicts.size() + errors > 1) {
        add_verdict_rows(section, record, share);
      }
    } else if (channels_in(record) + errors > 1 && !record.captures.empty()) {
      add_channel_rows(section, record, share);
    }
  }
  if (!share.is_all) {
    const bool is_all_told = record.verdicts.size() <= kMostInFull &&
                             channels_in(record) <= kMostInFull;
    add(section, "p",
        "The table has all of them. Below, " + std::to_string(kMostWithCharts) +
            " clocks have charts, and " +
            (is_all_told ? "all" : std::to_string(kMostInFull)) +
            " are told in full: those judged worst, else the first. A run of "
            "one capture has a page of all it shows.",
        "small");
  }
  if (!section.first_child()) page.remove_child(section);
}

void add_shift_rows(pugi::xml_node section,
                    const ComparisonResult& comparison) {
  const auto seen = [](const std::optional<ClockSeen>& c) {
    return c ? seen_frequency(*c) : std::string("no clock");
  };
  HtmlTable table(section, "All that was compared",
                  {"clock", "#before", "#after", "#shift", "what became of it"},
                  CellNames::kInEach);
  for (const ClockShift& s : comparison.shifts) {
    const std::string shift =
        s.presence == Presence::kInBoth
            ? signed_with_uncertainty(s.shift.value(), s.expanded.value(),
                                      "ppm")
            : "";
    table.row({s.channel, seen(s.before), seen(s.after), shift,
               shift_became(s) +
                   (s.decision ? std::string(": ") + decision_name(*s.decision)
                               : "")});
  }
  add(section, "p",
      "Each at " + coverage_percent(comparison.options.coverage) +
          "; what the timebase leaves open is in the frequencies.",
      "small");
}

void add_errors(pugi::xml_node page, const Record& record) {
  if (record.errors.empty()) return;
  pugi::xml_node section = add(page, "section");
  section.append_attribute("id") = kErrorsId;
  add(section, "h2", "Without a result");
  std::size_t left = kMostInFull;
  for (const Error& e : record.errors) {
    if (left-- == 0) break;
    const std::string place = error_place(e);
    pugi::xml_node line = add(section, "p");
    if (!place.empty()) add(line, "strong", place + ": ");
    add_words(line, "span", e.message + ".");
    if (!e.hint.empty()) add_words(section, "p", e.hint, "small");
  }
}

}  // namespace clockassay
