// SPDX-License-Identifier: GPL-3.0-or-later
// Plans of load.
#include "clockassay/report/plan_report.h"
#include "report/number_format.h"
#include "report/plan_lines.h"
#include "report/text_layout.h"

namespace clockassay {
namespace {

std::string load_text(const LoadEffect& e) {
  return unbroken(e.load_uncertainty.value() > 0.0
                      ? quantity_with_uncertainty(
                            e.load.value(), e.load_uncertainty.value(), "F")
                      : quantity_to_digits(e.load.value(), 4, "F"));
}

std::string pull_text(const LoadEffect& e) {
  const double u = e.pull_uncertainty.value();
  if (!(u > 0.0)) {
    return unbroken(signed_with_uncertainty(e.pull.value(), 0.01, "ppm"));
  }
  return unbroken(signed_with_uncertainty(e.pull.value(), u, "ppm"));
}

/// With its whole span, which is seldom as wide on both sides.
std::string pull_span_text(const LoadEffect& e) {
  const double u = e.pull_uncertainty.value();
  if (!(u > 0.0)) return pull_text(e);
  // Of as many digits as beside its U, which the span stands for.
  const std::string both = signed_with_uncertainty(e.pull.value(), u, "ppm");
  return unbroken(both.substr(0, both.find(" \u00B1"))) + ", from " +
         unbroken(limits_to(e.pull_low.value(), e.pull_high.value(), u, "ppm"));
}

std::string effect_line(const LoadEffect& e) {
  return capacitors(e.capacitors) + ": " + load_text(e) + ", " +
         pull_span_text(e);
}

void say_no_choice(const LoadPlan& plan, TextLayout& out) {
  const std::string none =
      "No capacitors make a load of " + farads(plan.input.crystal_load) + ": ";
  if (!plan.bare) {
    out.paragraph(none + "it takes more than 1 nF.");
    out.blank_line();
    out.labelled("what to do", "Take a crystal for a smaller load.");
    return;
  }
  out.paragraph(none + "the stray" +
                (plan.input.stray ? "" : " that is assumed") +
                " alone is that much, or so near that it takes less than 1 "
                "pF.");
  out.blank_line();
  out.labelled("what to do",
               "Shorten the traces, or take a crystal for a larger load.");
  out.labelled("", "With none fitted: " + load_text(*plan.bare) + ", " +
                       pull_span_text(*plan.bare) +
                       (plan.bare->gain_factor
                            ? "."
                            : ". But with nothing from a pin to ground no "
                              "oscillator runs: what pins and traces have "
                              "there is --stray-per-pin"));
}

void say_chosen(const LoadPlan& plan, TextLayout& out) {
  if (!plan.chosen) {
    say_no_choice(plan, out);
    return;
  }
  const std::string wanted = farads(plan.input.crystal_load);
  const LoadEffect& e = *plan.chosen;
  out.paragraph("A crystal for " + wanted + " wants " +
                capacitors(e.capacitors) + " (" +
                e_series_name(plan.input.series) + ").");
  out.blank_line();
  out.labelled("load", load_text(e) + ", wanted " + wanted);
  out.labelled("pull", pull_text(e) + " (" +
                           plain_number(100.0 * plan.input.coverage) +
                           " %), from " +
                           limits_to(e.pull_low.value(), e.pull_high.value(),
                                     e.pull_uncertainty.value(), "ppm") +
                           "; the crystal's own make tolerance comes on top");
  // To three digits.
  constexpr double kSaid = 1.005;
  if (e.gain_factor && *e.gain_factor >= kSaid) {
    out.labelled("", "legs this unequal ask " +
                         number_to_digits(*e.gain_factor, 3) +
                         " times the gain of equal ones");
  }
}

// To rounding.
bool same_pair(const LoadEffect& a, const LoadEffect& b) {
  return capacitors(a.capacitors) == capacitors(b.capacitors);
}

void say_others(const LoadPlan& plan, TextLayout& out) {
  if (plan.closest) out.labelled("nearest pair", effect_line(*plan.closest));
  bool first = true;
  for (const LoadEffect& beside : plan.beside) {
    // What is fitted has a row of its own.
    if (plan.fitted && same_pair(beside, *plan.fitted)) continue;
    if (plan.closest && same_pair(beside, *plan.closest)) continue;
    out.labelled(first ? "or equal ones" : "", effect_line(beside));
    first = false;
  }
  if (!plan.fitted) return;
  if (plan.chosen && same_pair(*plan.chosen, *plan.fitted)) {
    out.labelled("fitted now", "these, as they are");
    return;
  }
  out.labelled("fitted now", effect_line(*plan.fitted));
  if (!plan.fitted->gain_factor) {
    out.labelled("",
                 "with nothing from one pin to ground no oscillator runs: what "
                 "pins and traces have there is --stray-per-pin");
  }
}

std::string stray_text(const LoadPlan& plan) {
  const StatedStray& s = plan.stray;
  std::string text =
      farads(s.middle) + (s.per_pin ? " from each pin" : " across the crystal");
  if (s.half_width.value() > 0.0) text += ", \u00B1" + farads(s.half_width);
  if (!plan.input.stray) {
    return text +
           ": typical, nothing stated (--stray-across or --stray-per-pin)";
  }
  if (!(s.half_width.value() > 0.0)) {
    text += ", taken as exact: state 3pF\u00B11pF if it is known to that";
  }
  return text;
}

std::string crystal_text(const LoadPlan& plan) {
  if (plan.crystal.assumed.empty()) {
    return "C0 and C1 as stated, taken as exact" +
           odd_ratio_words(plan.input.c0, plan.input.c1);
  }
  std::string text = "assumed: ";
  for (std::size_t i = 0; i < plan.crystal.assumed.size(); ++i) {
    text += (i == 0 ? "" : "; ") + plan.crystal.assumed[i];
  }
  text +=
      ". The pull reaches over all of it; C0 and C1 of the data sheet "
      "narrow it (--c0, --c1)";
  if (!plan.input.frequency) {
    text += ". A tuning fork, 32.768 kHz and the like: say --frequency";
  }
  return text;
}

void say_inputs(const LoadPlan& plan, TextLayout& out) {
  out.labelled(
      "per pF",
      number_to_digits(plan.sensitivity_ppm_per_pf, 3) + " ppm" +
          (plan.crystal.assumed.empty()
               ? ""
               : ", somewhere in " +
                     limits_to(plan.sensitivity_low, plan.sensitivity_high,
                               -plan.sensitivity_ppm_per_pf, "ppm")));
  out.labelled("stray", stray_text(plan));
  out.labelled("capacitors",
               "\u00B1" + plain_number(100.0 * plan.input.capacitor_tolerance) +
                   " %" +
                   (plan.input.tolerance_stated
                        ? ""
                        : ", usual; --capacitor-tolerance says otherwise"));
  out.labelled("crystal", crystal_text(plan));
  if (plan.maybe_overtone) {
    out.labelled("overtone",
                 "from 25 MHz on a crystal may be a third-overtone one: C1, "
                 "pull and ppm per pF are then about a ninth");
  }
  if (plan.probe) {
    out.labelled(
        "a probe",
        "of " + farads(plan.probe->probe) + " on one pin would pull by up to " +
            unbroken(number_to_digits(plan.probe->pull.value(), 2) + " ppm") +
            ", if the oscillator still ran");
  }
  out.labelled("afterwards",
               "a capture of the clock says what load the crystal really sees: "
               "verify --spec, key \"load\"");
}

}  // namespace

void say_plan(const LoadPlan& plan, TextLayout& out) {
  say_chosen(plan, out);
  say_others(plan, out);
  say_inputs(plan, out);
  out.labelled("method", "docs/plan.md, Load");
  say_cautions(PlanKind::kLoad, out);
}

std::string plan_text(const LoadPlan& plan) {
  TextLayout out;
  say_plan(plan, out);
  return out.text();
}

}  // namespace clockassay
