// SPDX-License-Identifier: GPL-3.0-or-later
// Plans of load and drive.
#include "clockassay/report/plan_report.h"
#include "report/number_format.h"
#include "report/plan_lines.h"
#include "report/text_layout.h"

namespace clockassay {
namespace {

std::string capacitors(const CapacitorPair& pair) {
  if (!((pair.a + pair.b).value() > 0.0)) return "none";
  const std::string a = nominal_quantity(pair.a.value(), "F");
  const std::string b = nominal_quantity(pair.b.value(), "F");
  return unbroken(a == b ? "two of " + a : a + " and " + b);
}

std::string farads(Farads value) {
  return unbroken(nominal_quantity(value.value(), "F"));
}

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

std::string effect_line(const LoadEffect& e) {
  return capacitors(e.capacitors) + ": " + load_text(e) + ", " + pull_text(e);
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
  out.labelled("what to do", "Fit none: " + load_text(*plan.bare) + ", " +
                                 pull_text(*plan.bare) + ".");
  out.labelled("",
               "or shorten the traces, or take a crystal for a larger load");
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
    return "C0 and C1 as stated, taken as exact";
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
        "of " + farads(plan.probe->probe) + " on one pin would pull by " +
            unbroken(number_to_digits(plan.probe->pull.value(), 2) + " ppm") +
            ", if the oscillator still ran");
  }
  out.labelled("afterwards",
               "a capture of the clock says what load the crystal really sees: "
               "verify --spec, key \"load\"");
}

std::string ohms(Ohms value, int digits = 3) {
  return unbroken(quantity_to_digits(value.value(), digits, "\u03A9"));
}

std::string siemens(Siemens value) {
  return unbroken(quantity_to_digits(value.value(), 3, "S"));
}

void say_critical(const DrivePlan& plan, TextLayout& out) {
  if (!plan.critical) {
    out.labelled("critical gm", "none: no gain makes more than " +
                                    ohms(plan.most_negative) +
                                    " against R1 of " + ohms(plan.input.r1));
    return;
  }
  out.labelled("critical gm",
               siemens(*plan.critical) +
                   "; usually asked for: " + plain_number(kUsualMargin) +
                   " times that, " + siemens(*plan.asked_for));
}

void say_margin(const DrivePlan& plan, TextLayout& out) {
  const bool ideal = !plan.input.output_resistance;
  if (plan.margin) {
    out.labelled(ideal ? "margin" : "ideal margin",
                 number_to_digits(*plan.margin, 3) +
                     " times critical, at gm = " +
                     unbroken(nominal_quantity(plan.input.gm->value(), "S")) +
                     (ideal ? ", at most: of an ideal amplifier, without a "
                              "resistor"
                            : ", of an ideal amplifier"));
  }
  if (plan.safety_factor) {
    out.labelled(ideal ? "safety factor" : "ideal factor",
                 number_to_digits(*plan.safety_factor, 3) +
                     ": negative resistance " + ohms(*plan.negative) +
                     " over R1 " + ohms(plan.input.r1) + ", of " +
                     ohms(plan.most_negative) +
                     " at most, at gm = " + siemens(plan.best) +
                     (plan.too_much_gain ? ": less gain does better" : "") +
                     (plan.margin ? ". A trial with a resistor, where C0 takes "
                                    "no part, shows up to the margin"
                                  : ""));
  }
}

// Where it is not the ideal amplifier's, which is told anyway.
void say_board(const DrivePlan& plan, TextLayout& out) {
  if (!plan.input.gm) return;
  const BoardGain board = board_gain(plan);
  if (board.of == BoardGainOf::kIdealAmplifier) return;
  out.labelled("this board",
               (board.margin ? "margin " + number_to_digits(*board.margin, 3)
                             : std::string("no start")) +
                   ", safety factor " +
                   number_to_digits(board.safety_factor, 3) + ", " +
                   board_gain_words(board.of));
}

void say_gain_with(const char* label, const std::optional<GainWith>& gain,
                   TextLayout& out) {
  if (!gain) return;
  const bool none = !(gain->resistor > Ohms(0.0));
  out.labelled(
      label,
      (none ? std::string("without a resistor")
            : "with " + ohms(gain->resistor)) +
          ": negative resistance " + ohms(gain->negative) + ", safety factor " +
          number_to_digits(gain->safety_factor, 3) +
          (gain->margin ? ", margin " + number_to_digits(*gain->margin, 3)
                        : ", no start"));
}

void say_gain(const DrivePlan& plan, TextLayout& out) {
  say_critical(plan, out);
  say_board(plan, out);
  say_margin(plan, out);
  say_gain_with("real output", plan.gain_without, out);
  say_gain_with("", plan.gain_with_start, out);
  say_gain_with("as fitted", plan.gain_as_fitted, out);
  if (plan.measured_safety_factor) {
    out.labelled("on the board",
                 "safety factor " +
                     number_to_digits(*plan.measured_safety_factor, 3) +
                     ", it starts with " + ohms(*plan.input.still_starts) +
                     " in series");
  }
  if (plan.margin || plan.measured_safety_factor) {
    out.labelled("asked for",
                 "not agreed: safety factors from " +
                     plain_number(kUsualSafetyLow) + " to " +
                     plain_number(kUsualSafetyHigh) +
                     "; what the part's maker asks goes first. A stated "
                     "largest critical gm has its margin in it already.");
  }
}

void say_start(const DrivePlan& plan, TextLayout& out) {
  if (!plan.critical) {
    out.labelled("start", "never, with any gain");
  } else if (plan.negative && !plan.start_up) {
    out.labelled("start",
                 "never at this gm: the negative resistance is below R1");
  }
  if (!plan.start_up) return;
  const StartUp& s = *plan.start_up;
  std::string text = "about " +
                     unbroken(time_to_digits(s.shortest.value(), 2)) + " to " +
                     unbroken(time_to_digits(s.longest.value(), 2)) +
                     ", 9 to 15 growth times (from memory) of " +
                     unbroken(time_to_digits(s.growth_low.value(), 2));
  if (s.growth_high > s.growth_low) {
    text += " to " + unbroken(time_to_digits(s.growth_high.value(), 2));
  }
  for (const std::string& assumed : plan.c1_assumed) {
    text += "; assumed " + assumed;
  }
  out.labelled("start", text);
}

std::string drive_text(const DriveWith& d) {
  return unbroken(quantity_to_digits(d.power.value(), 3, "W")) + ", " +
         unbroken(quantity_to_digits(d.swing.value(), 3, "V")) +
         " peak to peak at the crystal";
}

void say_drive(const DrivePlan& plan, TextLayout& out) {
  if (plan.without) {
    out.labelled("drive", "without a resistor: " + drive_text(*plan.without));
    out.labelled("", "with " + ohms(plan.series_start) + ": " +
                         drive_text(*plan.with_start));
  }
  if (plan.with_fitted) {
    out.labelled("as fitted", "with " + ohms(*plan.input.series_resistor) +
                                  ": " + drive_text(*plan.with_fitted));
  }
  if (plan.without) {
    out.labelled("",
                 "of a sine; a square swing drives 1.6 times as much. "
                 "Behind a resistor at most: the oscillation moves, and "
                 "less is left");
  }
  if (plan.limit_swing) {
    out.labelled(
        "drive limit",
        unbroken(nominal_quantity(plan.input.drive_limit->value(), "W")) +
            " is " +
            unbroken(
                quantity_to_digits(plan.limit_current_pp->value(), 3, "A")) +
            " peak to peak, or " +
            unbroken(quantity_to_digits(plan.limit_swing->value(), 3, "V")) +
            " at the crystal's pin" +
            (plan.series_for_limit ? "; with this swing that takes " +
                                         ohms(*plan.series_for_limit)
                                   : ""));
  }
  out.labelled("resistor", ohms(plan.series_start) +
                               " to begin trials with, the reactance of the "
                               "output's leg: a rule of thumb");
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

std::string plan_text(const DrivePlan& plan) {
  const DrivePlanInput& in = plan.input;
  TextLayout out;
  out.paragraph("A crystal of " +
                unbroken(nominal_frequency(in.frequency.value())) + ", " +
                ohms(in.r1) + " (motional), C0 " + farads(in.c0) + ", sees " +
                farads(in.load) + ": at its load resonance it has " +
                ohms(plan.rl) + ".");
  out.blank_line();
  say_gain(plan, out);
  say_start(plan, out);
  say_drive(plan, out);
  if (plan.maybe_overtone) {
    out.labelled("overtone",
                 "from 25 MHz on a crystal may be a third-overtone one: a "
                 "plain Pierce oscillator starts it on its fundamental, near a "
                 "third of what is printed on it");
  }
  for (std::size_t i = 0; i < plan.missing.size(); ++i) {
    out.labelled(i == 0 ? "not stated" : "", plan.missing[i]);
  }
  out.labelled("legs", capacitors({plan.legs.input, plan.legs.output}) +
                           " from the pins to ground, all in, and " +
                           farads(plan.legs.across) + " across");
  out.labelled("method", "docs/plan.md, Drive");
  say_cautions(PlanKind::kDrive, out);
  return out.text();
}

}  // namespace clockassay
