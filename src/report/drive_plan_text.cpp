// SPDX-License-Identifier: GPL-3.0-or-later
// Plans of drive.
#include "clockassay/report/plan_report.h"
#include "report/number_format.h"
#include "report/plan_lines.h"
#include "report/text_layout.h"

namespace clockassay {
namespace {

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

// More than critical, and still no start.
void say_no_margin(const DrivePlan& plan, TextLayout& out) {
  if (plan.margin || !plan.starts || !plan.input.gm) return;
  const bool above = *plan.input.gm > plan.starts->most;
  out.labelled(
      "margin",
      "none: at gm = " +
          unbroken(nominal_quantity(plan.input.gm->value(), "S")) +
          " even an ideal amplifier does not start, only from " +
          siemens(plan.starts->least) + " to " + siemens(plan.starts->most) +
          (above ? ": above, the capacitance from pin to pin shorts it"
                 : ", exactly: critical gm is a first-order formula, and R1 is "
                   "near the most negative resistance there is"));
}

void say_margin(const DrivePlan& plan, TextLayout& out) {
  const bool ideal = !plan.input.output_resistance;
  say_no_margin(plan, out);
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
    out.labelled(
        "on the board",
        "safety factor " + number_to_digits(*plan.measured_safety_factor, 3) +
            ", it starts with " + ohms(*plan.input.still_starts) +
            " in series; what was tried goes before what is worked out");
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
    out.labelled("start", "never at this gm: the negative resistance, " +
                              ohms(board_gain(plan).negative) +
                              ", is not above R1" +
                              (plan.measured_safety_factor
                                   ? ". But as tried it does start: gm or "
                                     "output resistance are better than stated"
                                   : ""));
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

void say_excess(const DrivePlan& plan, TextLayout& out) {
  if (!plan.excess) return;
  const DriveExcess& e = *plan.excess;
  const std::string power =
      unbroken(quantity_to_digits(e.power.value(), 3, "W"));
  const auto watts = [](Watts w) {
    return unbroken(nominal_quantity(w.value(), "W"));
  };
  std::string words;
  if (e.is_usual) {
    words = "a tuning fork bears " + watts(kForkDriveLow) + " to " +
            watts(kForkDriveHigh) +
            " as a rule, and no limit is stated: " + power + " is more than " +
            (e.power > e.limit ? "any of that" : "some of them bear");
  } else {
    words = power + " is " +
            number_to_digits(e.power.value() / e.limit.value(), 2) +
            " times what the crystal bears";
  }
  words +=
      "; overdriven it ages, drifts or breaks. Less swing, or a larger "
      "resistor";
  if (e.series) {
    words += ": " + ohms(*e.series) + " bring a sine down to " + watts(e.limit);
  }
  out.labelled("too much", words);
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
  say_excess(plan, out);
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
  const std::string odd = odd_ratio_words(in.c0, in.c1);
  if (!odd.empty()) out.labelled("crystal", odd.substr(2));
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
