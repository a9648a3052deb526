// SPDX-License-Identifier: GPL-3.0-or-later
#include <algorithm>
#include <string>

#include "clockassay/base/printable.h"
#include "report/check_words.h"
#include "report/number_format.h"
#include "report/text_parts.h"

namespace clockassay {
namespace {

struct DecisionStyle {
  const char* word;
  const char* color;  // ANSI: bold green, yellow, red
};

DecisionStyle decision_style(Decision decision) {
  switch (decision) {
    case Decision::kPass:
      return {"PASS", "\x1b[1;32m"};
    case Decision::kUndecided:
      return {"UNDECIDED", "\x1b[1;33m"};
    case Decision::kFail:
      break;
  }
  return {"FAIL", "\x1b[1;31m"};
}

constexpr const char* kColorOff = "\x1b[0m";

const Check* find_check(const Verdict& v, std::string_view name) {
  const auto found =
      std::find_if(v.checks.begin(), v.checks.end(),
                   [name](const Check& c) { return c.check == name; });
  return found == v.checks.end() ? nullptr : &*found;
}

void put_checks(TextLayout& out, const Verdict& v) {
  if (v.checks.empty()) return;
  out.labelled("checks", "");
  for (const Check& c : v.checks) {
    // Without a limit nothing is decided, only said.
    const bool limited = c.low || c.high;
    std::string text = limited ? decision_name(c.decision) : "reported";
    text += "  " + printable(c.check);
    if (!c.subject.empty()) text += " (" + message_text(c.subject) + ")";
    text += "  " + side_by_side({deviation_text(c), limit_text(c)});
    if (c.probability_of_conformity) {
      text += "  " + unbroken("probability " +
                              probability(*c.probability_of_conformity));
    }
    if (!c.source.empty()) text += "  [" + message_text(c.source) + "]";
    if (c.advisory) text += "  (shown only, does not decide)";
    out.item("-", text);
  }
}

void put_budget(TextLayout& out, const Budget& budget, bool by_reference) {
  out.labelled("U is made of", "");
  for (const BudgetLine& line : budget.lines) {
    out.item("-", message_text(line.name) + ": standard uncertainty " +
                      unbroken(number_to_digits(
                                   line.standard_uncertainty.value(), 2) +
                               " ppm") +
                      ", " + message_text(line.distribution) + " (" +
                      message_text(line.source) + ")");
  }
  out.item("-", (by_reference ? "in the capture's own time U would be "
                              : "without the timebase U would be ") +
                    unbroken(number_to_digits(
                                 budget.expanded_capture_ppm.value(), 2) +
                             " ppm"));
}

void put_cause(TextLayout& out, const Verdict& v, const Cause& cause) {
  const auto same_rank =
      std::count_if(v.causes.begin(), v.causes.end(),
                    [&cause](const Cause& c) { return c.rank == cause.rank; });
  const std::string mark = std::to_string(cause.rank) + ".";
  std::string text = message_text(cause.cause);
  if (!cause.ratio.empty()) {
    text += "; measured over intended " + message_text(cause.ratio);
  }
  if (cause.expected) {
    text +=
        "; would show " + unbroken(nominal_frequency(cause.expected->value()));
  }
  if (cause.residual) {
    text += ", which leaves " +
            unbroken(number_to_digits(cause.residual->value(), 2) + " ppm");
  }
  if (same_rank > 1) text += " (others fit as well)";
  out.item(mark, text);
  for (const std::string& e : cause.evidence) {
    const bool weighs = e.starts_with("For it") || e.starts_with("Against") ||
                        e.starts_with("For a") || e.starts_with("Ambiguous");
    out.item("  ", (weighs ? "" : "seen: ") + message_text(e));
  }
  if (!cause.if_true.empty()) {
    out.item("  ", "then also: " + message_text(cause.if_true));
  }
  if (!cause.advice.empty())
    out.item("  ", "do: " + message_text(cause.advice));
  if (!cause.settled_by.empty()) {
    out.item("  ", "settled by: " + message_text(cause.settled_by));
  }
}

void put_list(TextLayout& out, const char* label,
              const std::vector<std::string>& sentences) {
  const char* shown = label;
  for (const std::string& s : sentences) {
    out.labelled(shown, message_text(s));
    shown = "";
  }
}

void put_nominal_error(TextLayout& out, const ChannelResult& c,
                       bool by_reference) {
  const std::string words = nominal_error_words(c, by_reference);
  if (!words.empty()) out.labelled("time error", words);
}

void put_source(TextLayout& out, const Verdict& v) {
  out.labelled("expected",
               unbroken(nominal_frequency(v.expected_frequency.value())) +
                   " from a source of " +
                   unbroken(nominal_frequency(v.nominal_source.value())));
  if (!v.implied_source) return;
  // In ppm of what is expected, as the error is.
  const double expanded =
      v.expanded_uncertainty
          ? v.expanded_uncertainty->value() * 1e-6 * v.nominal_source.value()
          : 0.0;
  out.labelled("source", unbroken(frequency_with_uncertainty(
                             v.implied_source->value(), expanded)) +
                             " if the clock path is as expected");
}

}  // namespace

void put_decision_line(TextLayout& out, Decision decision,
                       const std::vector<std::string>& parts, bool color) {
  const DecisionStyle style = decision_style(decision);
  TextLayout line;
  line.paragraph(style.word + ("  " + side_by_side(parts)), 6);
  if (!color) return out.headline(line.text(), decision_name(decision), parts);
  // After wrapping, so that it takes no columns.
  const std::size_t length = std::string_view(style.word).size();
  out.headline(style.color + line.text().substr(0, length) + kColorOff +
                   line.text().substr(length),
               decision_name(decision), parts);
}

void put_verdict_line(TextLayout& out, const Verdict& v,
                      const ChannelResult* channel, bool color,
                      bool name_capture) {
  std::vector<std::string> parts;
  if (channel != nullptr && channel->budget) {
    const FrequencyResult& f = channel->budget->frequency;
    parts.push_back(
        frequency_to(f.value.value(), f.expanded_uncertainty.value()));
  } else {
    parts.push_back("no clock");
  }
  if (v.error && v.expanded_uncertainty) {
    parts.push_back(signed_with_uncertainty(v.error->value(),
                                            v.expanded_uncertainty->value(),
                                            "ppm") +
                    " (" + coverage_percent(v.coverage) + ")");
  }
  if (const Check* tolerance = find_check(v, "tolerance")) {
    parts.push_back(limit_text(*tolerance));
  }
  std::string name = name_text(v.clock);
  if (name_capture) name += ", " + message_text(v.capture);
  parts.insert(parts.begin(), name);
  put_decision_line(out, v.decision, parts, color);
}

void put_verdict_details(TextLayout& out, const Verdict& v,
                         const CaptureResult* capture,
                         const ChannelResult* channel) {
  const bool by_reference =
      capture != nullptr && capture->reference.has_value();
  put_source(out, v);
  put_list(out, "why", v.reasons);
  put_list(out, "what to do", v.advice);
  if (!v.causes.empty()) {
    out.labelled("causes", "most likely first");
    for (const Cause& cause : v.causes) put_cause(out, v, cause);
  }
  put_checks(out, v);
  if (v.life) put_life(out, *v.life);
  if (channel != nullptr && channel->budget) {
    put_budget(out, *channel->budget, by_reference);
  }
  if (channel != nullptr) put_nominal_error(out, *channel, by_reference);
  if (channel != nullptr) {
    out.labelled("channel",
                 name_text(channel->name) + " in " + message_text(v.capture));
    put_warnings(out, channel->warnings);
  } else {
    out.labelled("capture", message_text(v.capture));
  }
  if (capture == nullptr) return;
  if (capture->reference) {
    out.labelled("reference", reference_text(*capture->reference));
  }
  put_warnings(out, capture->warnings);
}

std::string nominal_error_words(const ChannelResult& channel,
                                bool by_reference) {
  const Jitter& j = channel.jitter;
  if (!j.tie_nominal_rms || !j.tie_nominal_peak_to_peak) return "";
  constexpr int kDigits = 3;  // chosen, as of other jitter
  const std::string over =
      unbroken(time_to_digits(channel.analysed_duration.value(), kDigits));
  return "against the expected frequency, over " + over + ": " +
         side_by_side(
             {"rms " + time_to_digits(j.tie_nominal_rms->value(), kDigits),
              "peak to peak " +
                  time_to_digits(j.tie_nominal_peak_to_peak->value(),
                                 kDigits)}) +
         "; the errors of the frequency and of the " +
         (by_reference ? "reference" : "timebase") + " are in it";
}

}  // namespace clockassay
