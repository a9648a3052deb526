// SPDX-License-Identifier: GPL-3.0-or-later
#include <cmath>

#include "clockassay/base/number_text.h"
#include "clockassay/report/plan_report.h"
#include "report/display_width.h"
#include "report/number_format.h"
#include "report/plan_lines.h"
#include "report/text_layout.h"

namespace clockassay {
namespace {

std::string right(const std::string& text, std::size_t width) {
  const std::size_t wide = display_width(text);
  return std::string(wide < width ? width - wide : 0, ' ') + text;
}

std::string left(const std::string& text, std::size_t width) {
  const std::size_t wide = display_width(text);
  return text + std::string(wide < width ? width - wide : 0, ' ');
}

constexpr std::size_t kDifferenceColumn = 12;
constexpr std::size_t kFrequencyColumn = 15;
constexpr std::size_t kRatioColumn = 9;
constexpr std::size_t kWordsColumn =
    kDifferenceColumn + kFrequencyColumn + kRatioColumn + 6;

std::string columns(const std::string& difference, const std::string& frequency,
                    const std::string& ratio) {
  return unbroken(right(difference, kDifferenceColumn) + "  " +
                  right(frequency, kFrequencyColumn) + "  " +
                  left(ratio, kRatioColumn)) +
         "  ";
}

void say_slips(const PathPlan& plan, TextLayout& out) {
  out.paragraph(columns("difference", "frequency", "ratio") + "the slip",
                kWordsColumn);
  for (std::size_t i = 0; i < plan.slips.size(); ++i) {
    const PathSlip& slip = plan.slips[i];
    out.paragraph(columns(path_difference(slip.difference_ppm),
                          path_hertz(slip.neighbour.frequency_hz.to_double()),
                          slip.neighbour.ratio.to_string()) +
                      (slip.like_intended ? "(!) " : "") +
                      slip.neighbour.description,
                  kWordsColumn);
  }
}

void say_row(const PathSlip& slip, const std::string& words, TextLayout& out) {
  const bool same = slip.neighbour.ratio == Rational(1);
  out.paragraph(
      columns(same ? "as intended" : path_difference(slip.difference_ppm),
              path_hertz(slip.neighbour.frequency_hz.to_double()),
              slip.neighbour.ratio.to_string()) +
          (slip.like_intended && !same ? "(!) " : "") + words,
      kWordsColumn);
}

void say_former(const PathPlan& plan, TextLayout& out) {
  if (!plan.former) return;
  const FormerPath& former = *plan.former;
  out.blank_line();
  out.paragraph("Before, " + clock_path_expression(former.path) + " gave " +
                unbroken(path_hertz(former.path.frequency_hz.to_double())) +
                ". Where only one of the two was changed the pin shows:");
  out.blank_line();
  say_row(former.unchanged,
          former.unchanged.neighbour.description + ": " +
              former.unchanged.neighbour.expression,
          out);
  say_row(former.old_source,
          former.old_source.neighbour.description + ": " +
              former.old_source.neighbour.expression,
          out);
  if (former.keeps.empty()) return;
  out.blank_line();
  out.paragraph("As before, exactly, with the new source:");
  for (const PathSlip& slip : former.keeps) {
    out.item("-",
             slip.neighbour.description + ": " + slip.neighbour.expression +
                 ", " +
                 unbroken(path_hertz(slip.neighbour.frequency_hz.to_double())));
  }
}

bool any_like_intended(const PathPlan& plan) {
  for (const PathSlip& slip : plan.slips) {
    if (slip.like_intended) return true;
  }
  return false;
}

void say_source(const PathPlan& plan, TextLayout& out) {
  const PathSource& source = plan.source;
  out.blank_line();
  out.paragraph(
      "Taken: a source within " +
      unbroken(limits(source.low_ppm, source.high_ppm, "ppm")) +
      (source.is_assumed ? " (assumed; --tolerance)" : "") +
      ", seen through a timebase within " +
      unbroken("\u00B1" + plain_number(source.timebase_ppm) + " ppm") +
      (source.timebase_is_assumed ? " (assumed; --timebase)." : "."));
}

void say_coincidences(const PathPlan& plan, TextLayout& out) {
  say_source(plan, out);
  if (any_like_intended(plan)) {
    out.paragraph(
        "(!) With such this looks like the intended clock: read the "
        "registers, no capture tells.");
  }
  if (plan.coincidences.empty()) return;
  out.blank_line();
  out.paragraph(
      "Nor does a capture tell apart, each from the next in frequency:");
  for (const PathCoincidence& c : plan.coincidences) {
    const std::string apart =
        c.apart_ppm == 0.0
            ? "the same frequency"
            : unbroken(number_to_digits(c.apart_ppm, 3) + " ppm") + " apart";
    out.item("-", plan.slips[c.first].neighbour.description + ", and " +
                      plan.slips[c.second].neighbour.description + ": " +
                      apart);
  }
}

}  // namespace

std::string plan_text(const PathPlan& plan) {
  TextLayout out;
  out.paragraph(clock_path_expression(plan.path) + " is " +
                unbroken(path_hertz(plan.path.frequency_hz.to_double())) +
                ", exactly " +
                unbroken(plan.path.frequency_hz.to_string() + " Hz") +
                ". With one slip on the way the pin shows:");
  out.blank_line();
  say_slips(plan, out);
  say_former(plan, out);
  say_coincidences(plan, out);
  out.blank_line();
  out.labelled("method", "docs/plan.md, Path");
  say_cautions(PlanKind::kPath, out);
  return out.text();
}

}  // namespace clockassay
