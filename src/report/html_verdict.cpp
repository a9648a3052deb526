// SPDX-License-Identifier: GPL-3.0-or-later
#include <algorithm>
#include <string>
#include <string_view>
#include <vector>

#include "report/check_words.h"
#include "report/html_node.h"
#include "report/html_parts.h"
#include "report/number_format.h"
#include "report/text_parts.h"

namespace clockassay {
namespace {

std::string ppm_text(double value) {
  return number_to_digits(value, 2);
}

void add_heading(pugi::xml_node section, const Verdict& v,
                 const std::string& where) {
  const std::string decision = decision_name(v.decision);
  pugi::xml_node heading = add(section, "h2");
  // The word says it; the mark and the colour only repeat it.
  add(heading, "span", decision, ("decision " + decision).c_str());
  heading.append_child(pugi::node_pcdata).set_value(" ");
  add(heading, "span", v.clock);
  // Headings of one page differ: a list of them tells which is which.
  if (!where.empty()) add(heading, "span", " in " + where, "where");
}

std::vector<std::string> clock_parts(const Verdict& v,
                                     const ChannelResult* channel) {
  std::vector<std::string> parts;
  if (channel != nullptr && channel->budget) {
    const FrequencyResult& f = channel->budget->frequency;
    parts.push_back(frequency_with_uncertainty(f.value.value(),
                                               f.expanded_uncertainty.value()));
  } else if (!v.error) {
    parts.emplace_back("no clock");
  }
  if (v.error && v.expanded_uncertainty) {
    parts.push_back(signed_with_uncertainty(v.error->value(),
                                            v.expanded_uncertainty->value(),
                                            "ppm") +
                    " (" + coverage_percent(v.coverage) + ")");
  }
  const auto tolerance =
      std::find_if(v.checks.begin(), v.checks.end(),
                   [](const Check& c) { return c.check == "tolerance"; });
  if (tolerance != v.checks.end()) parts.push_back(limit_text(*tolerance));
  return parts;
}

void add_expected(pugi::xml_node section, const Verdict& v) {
  std::string expected =
      "Expected " + nominal_frequency(v.expected_frequency.value()) +
      " from a source of " + nominal_frequency(v.nominal_source.value());
  if (v.implied_source) {
    const double expanded =
        v.expanded_uncertainty
            ? v.expanded_uncertainty->value() * 1e-6 * v.nominal_source.value()
            : 0.0;
    expected +=
        "; the source is at " +
        frequency_with_uncertainty(v.implied_source->value(), expanded) +
        " if the clock path is as expected";
  }
  add_words(section, "p", expected + ".");
}

/// Under a heading that says what it is.
std::string table_limit(const Check& c) {
  constexpr std::string_view kWord = "limit ";
  const std::string text = limit_text(c);
  return text.starts_with(kWord) ? text.substr(kWord.size()) : text;
}

void add_checks(pugi::xml_node section, const Verdict& v) {
  if (v.checks.empty()) return;
  HtmlTable table(
      section, "Checks",
      {"check", "decision", "#value", "#limit", "#conforms with", "limit from"},
      CellNames::kInEach);
  for (const Check& c : v.checks) {
    const bool is_limited = c.low || c.high;
    std::string what = c.check;
    if (!c.subject.empty()) what += ": " + c.subject;
    if (c.advisory) what += " (shown only)";
    table.row({what, is_limited ? decision_name(c.decision) : "reported",
               deviation_text(c), table_limit(c),
               c.probability_of_conformity
                   ? probability(*c.probability_of_conformity)
                   : "",
               c.source});
  }
}

void add_budget(pugi::xml_node section, const Budget& budget) {
  HtmlTable table(section, "What U is made of",
                  {"contribution", "#standard uncertainty / ppm",
                   "distribution", "known from"},
                  CellNames::kInEach);
  for (const BudgetLine& line : budget.lines) {
    table.row({line.name, ppm_text(line.standard_uncertainty.value()),
               line.distribution, line.source});
  }
  add_words(
      section, "p",
      "U is " + ppm_text(budget.expanded_ppm.value()) +
          " ppm of what was measured; in the capture's own time, without what "
          "brings it to true time, it would be " +
          ppm_text(budget.expanded_capture_ppm.value()) + " ppm.",
      "small");
}

void add_life(pugi::xml_node section, const LifeStack& life) {
  const double U = life.expanded_uncertainty.value();
  HtmlTable table(section, "Over life", {"share", "#by", "why"},
                  CellNames::kInEach);
  table.row({"now, as measured",
             signed_with_uncertainty(life.error.value(), U, "ppm"),
             "load and stray of this board are in it"});
  for (const LifeShare& share : life.shares) {
    table.row({share.name,
               share.band ? limits(share.band->low.value(),
                                   share.band->high.value(), "ppm")
                          : "",
               share.why});
  }
  table.row({"altogether",
             limits_to(life.altogether.low.value(),
                       life.altogether.high.value(), U, "ppm"),
             life.combine == CombineRule::kSum ? "added"
                                               : "root of the sum of squares"});
}

void add_cause(pugi::xml_node list, const Cause& cause) {
  pugi::xml_node item = add(list, "li");
  pugi::xml_node first = add_words(item, "p", cause.cause);
  first.append_attribute("class") = "cause";
  std::string figures;
  if (!cause.ratio.empty()) figures = "measured over intended " + cause.ratio;
  if (cause.expected) {
    figures += (figures.empty() ? "" : "; ") + std::string("would show ") +
               nominal_frequency(cause.expected->value());
  }
  if (cause.residual) {
    figures += (figures.empty() ? "" : ", ") + std::string("which leaves ") +
               ppm_text(cause.residual->value()) + " ppm";
  }
  if (!figures.empty()) add_words(item, "p", figures + ".");
  for (const std::string& e : cause.evidence) add_words(item, "p", e);
  if (!cause.if_true.empty())
    add_words(item, "p", "Then also: " + cause.if_true);
  if (!cause.advice.empty()) add_words(item, "p", "Do: " + cause.advice);
  if (!cause.settled_by.empty()) {
    add_words(item, "p", "Settled by: " + cause.settled_by);
  }
}

void add_causes(pugi::xml_node section, const Verdict& v) {
  if (v.causes.empty()) return;
  add(section, "h3", "Causes, most likely first");
  pugi::xml_node list = add(section, "ol");
  for (const Cause& cause : v.causes) {
    add_cause(list, cause);
    list.last_child().append_attribute("value") = cause.rank;
  }
}

}  // namespace

void add_decision(pugi::xml_node section, const Verdict& v,
                  const ChannelResult* channel, const std::string& where) {
  add_heading(section, v, where);
  add_parts(add(section, "p", "", "headline"), clock_parts(v, channel));
  add_expected(section, v);
}

void add_decision(pugi::xml_node section, const Verdict& v,
                  const DriftResult& curve, const std::string& where) {
  add_heading(section, v, where);
  add_parts(add(section, "p", "", "headline"), drift_parts(curve));
  if (curve.question.expect) add_expected(section, v);
}

void add_grounds(pugi::xml_node section, const Verdict& v,
                 const ChannelResult* channel) {
  add_sentences(section, "h3", "Why", v.reasons);
  add_sentences(section, "h3", "What to do", v.advice);
  add_causes(section, v);
  add_checks(section, v);
  if (channel != nullptr && channel->budget) {
    add_budget(section, *channel->budget);
  }
  if (v.life) add_life(section, *v.life);
}

}  // namespace clockassay
