// SPDX-License-Identifier: GPL-3.0-or-later
// What a plan comes to, in a line.
#include <cmath>

#include "clockassay/report/plan_report.h"
#include "report/capture_answer.h"
#include "report/number_format.h"
#include "report/plan_lines.h"
#include "report/text_layout.h"

namespace clockassay {
namespace {

std::string line(const std::string& words) {
  TextLayout out;
  out.paragraph(words);
  return out.text();
}

std::string capacitor(Farads value) {
  return nominal_quantity(value.value(), "F");
}

std::string effect_words(const LoadEffect& e) {
  return capacitor(e.capacitors.a) + ", " + capacitor(e.capacitors.b) +
         ": load " + quantity_to_digits(e.load.value(), 4, "F") + ", pull " +
         signed_with_uncertainty(
             e.pull.value(), std::max(0.01, e.pull_uncertainty.value()), "ppm");
}

// Short: it is to stand in a line.
std::string short_words(BoardGainOf of) {
  switch (of) {
    case BoardGainOf::kAsFitted:
      return "as fitted";
    case BoardGainOf::kWithoutResistor:
      return "no resistor";
    case BoardGainOf::kIdealAmplifier:
      return "ideal";
  }
  return "";
}

std::string margin_words(const DrivePlan& plan) {
  if (!plan.critical) return "no gain starts it";
  if (!plan.input.gm) {
    return "critical gm " + quantity_to_digits(plan.critical->value(), 3, "S") +
           ", margin unknown (--gm)";
  }
  const BoardGain board = board_gain(plan);
  const std::string margin =
      board.margin ? "margin " + number_to_digits(*board.margin, 3)
                   : std::string("no start");
  return margin + " (" + short_words(board.of) + "; usual " +
         plain_number(kUsualMargin) + "), safety factor " +
         number_to_digits(board.safety_factor, 2);
}

std::string drive_words(const DrivePlan& plan) {
  const std::optional<DriveWith>& now =
      plan.with_fitted ? plan.with_fitted : plan.without;
  if (!now) return "drive unknown";
  std::string words = "drive " + quantity_to_digits(now->power.value(), 3, "W");
  if (plan.input.drive_limit) {
    words += " of " + nominal_quantity(plan.input.drive_limit->value(), "W");
  }
  return words;
}

std::string slip_words(const PathPlan& plan) {
  if (plan.slips.empty()) return "no slip";
  const PathSlip& nearest = plan.slips.front();
  int alike = 0;
  for (const PathSlip& slip : plan.slips) alike += slip.like_intended;
  return "nearest slip " + path_difference(nearest.difference_ppm) + ", " +
         path_hertz(nearest.neighbour.frequency_hz.to_double()) +
         (alike > 0 ? "; " + std::to_string(alike) + " look like it" : "");
}

std::string verdict_words(const CapturePlan& plan) {
  const std::string why = capture_limit_name(plan.limited_by);
  if (plan.decidable && plan.feasible) return "decidable: ";
  if (plan.decidable) return "not feasible: ";
  if (plan.reference_fails) return "not decidable, reference: ";
  return "not decidable, " + (why == "sample_rate" ? "sample rate" : why) +
         ": ";
}

}  // namespace

std::string plan_line(const LoadPlan& plan) {
  if (plan.chosen) return line(effect_words(*plan.chosen));
  const std::string none =
      "no capacitors make " + capacitor(plan.input.crystal_load);
  if (!plan.bare) return line(none + ": more than 1 nF");
  return line(none + "; without: load " +
              quantity_to_digits(plan.bare->load.value(), 4, "F"));
}

std::string plan_line(const DrivePlan& plan) {
  return line(margin_words(plan) + ", " + drive_words(plan));
}

std::string plan_line(const PathPlan& plan) {
  return line(path_hertz(plan.path.frequency_hz.to_double()) + "; " +
              slip_words(plan));
}

std::string plan_line(const CapturePlan& plan) {
  std::string words = verdict_words(plan);
  if (plan.expanded.value() > 0.0) {
    words += "U " + number_to_digits(plan.expanded.value(), 2) + " of ";
  }
  words += limits(plan.low_ppm, plan.high_ppm, "ppm") + "; ";
  if (plan.needed && plan.decidable)
    words += length_words(plan.needed->duration) + " needed, ";
  words += length_words(plan.duration) +
           (plan.input.duration ? " planned" : " comfortable");
  return line(words);
}

}  // namespace clockassay
