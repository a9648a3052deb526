// SPDX-License-Identifier: GPL-3.0-or-later
// What a plan comes to, in a line.

#include "clockassay/report/plan_report.h"
#include "report/capture_answer.h"
#include "report/number_format.h"
#include "report/plan_lines.h"
#include "report/text_layout.h"

namespace clockassay {
namespace {

std::string line(const std::string& words) {
  return with_blanks(words) + '\n';
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

// What was tried on the board goes before what is worked out.
std::string factor_words(const DrivePlan& plan, double worked_out) {
  const auto& tried = plan.measured_safety_factor;
  return ", safety factor " + number_to_digits(tried.value_or(worked_out), 2) +
         (tried ? " tried" : "");
}

std::string margin_words(const DrivePlan& plan) {
  if (!plan.critical) return "no gain starts it";
  if (!plan.input.gm) {
    return "critical gm " + quantity_to_digits(plan.critical->value(), 3, "S") +
           ", margin unknown (--gm)" +
           (plan.measured_safety_factor ? factor_words(plan, 0.0) : "");
  }
  const BoardGain board = board_gain(plan);
  std::string margin = "no start";
  if (board.margin) {
    margin = "margin " + number_to_digits(*board.margin, 3) +
             (plan.start_up || plan.measured_safety_factor ? "" : ", no start");
  }
  return margin + " (" + short_words(board.of) + "; usual " +
         plain_number(kUsualMargin) + ")" +
         factor_words(plan, board.safety_factor);
}

std::string drive_words(const DrivePlan& plan) {
  const std::optional<DriveWith>& now =
      plan.with_fitted ? plan.with_fitted : plan.without;
  if (!now) return "drive unknown";
  std::string words = "drive " + quantity_to_digits(now->power.value(), 3, "W");
  if (plan.input.drive_limit) {
    words += " of " + nominal_quantity(plan.input.drive_limit->value(), "W");
  }
  if (plan.excess && plan.excess->is_usual) words += ", much for a fork";
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
  if (plan.decidable && plan.feasible) return "decidable: ";
  if (plan.decidable) return "not feasible: ";
  std::string why = capture_limit_name(plan.limited_by);
  if (plan.reference_fails) why = "reference";
  return "not decidable, " + (why == "sample_rate" ? "sample rate" : why) +
         ": ";
}

// Of a clock that is not seen.
std::string rate_help(const CapturePlan& plan) {
  std::string words;
  if (plan.needed_rate_hz) {
    words = frequency_words(plan.needed_rate_hz->to_double());
  }
  std::string slower;
  if (reference_may_be_slower(plan)) {
    slower =
        "a reference up to " + frequency_words(plan.fastest_reference->value());
  } else if (plan.needed_divider) {
    slower = "a divider by " + std::to_string(*plan.needed_divider);
  }
  if (!slower.empty()) words += (words.empty() ? "" : " or ") + slower;
  return words.empty() ? "no usual rate helps" : "needs " + words;
}

// Where no length alone does.
std::string timebase_help(const CapturePlan& plan) {
  const CaptureCures& cures = plan.cures;
  std::string capture;
  if (cures.duration) {
    capture = length_words(*cures.duration);
  } else if (cures.sample_rate) {
    capture = frequency_words(cures.sample_rate->value());
  }
  if (!capture.empty() && (cures.capture_alone || !cures.timebase)) {
    return "needs " + capture;
  }
  if (!cures.timebase) return "no length helps";
  const std::string source =
      within_ppm(*cures.timebase) +
      (plan.input.reference_tolerance ? " reference" : " timebase");
  return capture.empty() ? "only a " + source + " helps"
                         : "needs a " + source + " and " + capture;
}

// What would, where this capture does not decide.
std::string help_words(const CapturePlan& plan) {
  if (plan.needed) return length_words(plan.needed->duration) + " needed";
  if (plan.limited_by == CaptureLimit::kSampleRate) return rate_help(plan);
  if (plan.limited_by == CaptureLimit::kAliasing) return rate_help(plan);
  return plan.too_much_jitter || plan.cures.less_jitter ? "needs a divider"
                                                        : timebase_help(plan);
}

std::string length_summary(const CapturePlan& plan) {
  const std::string planned = length_words(plan.duration) + " planned";
  if (!plan.decidable) {
    return help_words(plan) +
           (plan.input.duration && plan.needed ? ", " + planned : "");
  }
  std::string needed =
      plan.needed ? length_words(plan.needed->duration) + " needed, " : "";
  // A decision that hardly ever is a pass.
  if (plan.needed && plan.needed->passes < 0.5) {
    needed += number_to_digits(100.0 * plan.needed->passes, 2) +
              " in 100 pass then, ";
  }
  return needed + (plan.input.duration
                       ? planned
                       : length_words(plan.duration) + " comfortable");
}

}  // namespace

std::string plan_line(const LoadPlan& plan) {
  if (plan.chosen) return line(effect_words(*plan.chosen));
  const std::string none =
      "no capacitors make " + capacitor(plan.input.crystal_load);
  if (!plan.bare) return line(none + ": more than 1 nF");
  return line(none + "; without: load " +
              quantity_to_digits(plan.bare->load.value(), 4, "F") +
              (plan.bare->gain_factor ? "" : ", no oscillator runs"));
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
  // Of a clock or a reference that is not to be seen no U means anything.
  const bool is_seen = plan.pulses.told && !plan.fastest_reference;
  if (plan.expanded.value() > 0.0 && is_seen) {
    words += "U " + number_to_digits(plan.expanded.value(), 2) + " of ";
  }
  words += limits(plan.low_ppm, plan.high_ppm, "ppm") + "; ";
  words += length_summary(plan);
  if (plan.also_too_large) words += ", and less U";
  if (plan.decidable && plan.uneven > 1.0 - plan.input.coverage) {
    words +=
        "; jitter spoils " + number_to_digits(100.0 * plan.uneven, 2) + " %";
  }
  return line(words);
}

}  // namespace clockassay
