// SPDX-License-Identifier: GPL-3.0-or-later
#include "report/capture_answer.h"

#include <algorithm>
#include <cmath>

#include "clockassay/base/number_text.h"
#include "clockassay/estimate/frequency_estimate.h"
#include "plan/capture_question.h"
#include "report/number_format.h"

namespace clockassay {

std::string ppm_words(double value) {
  return unbroken(number_to_digits(value, 2) + " ppm");
}

std::string within_ppm(const Ppm& value) {
  return unbroken("\u00B1" + number_to_digits(value.value(), 2) + " ppm");
}

std::string seconds_words(const Seconds& value) {
  return unbroken(time_to_digits(value.value(), 2));
}

std::string per_cent(double fraction) {
  return unbroken(number_to_digits(100.0 * fraction, 2) + " %");
}

std::string frequency_words(double hertz) {
  return unbroken(nominal_frequency(hertz));
}

std::string limits_of(const CapturePlan& plan) {
  return unbroken(limits(plan.low_ppm, plan.high_ppm, "ppm"));
}

std::string coverage_text(const CapturePlan& plan) {
  return unbroken("(" + plain_number(100.0 * plan.input.coverage) + " %)");
}

std::string duty_text(const CapturePlan& plan) {
  const std::optional<DutyRange>& duty = plan.input.duty;
  if (!duty) return "a duty of 50 %, assumed (--duty)";
  if (duty->low == duty->high) return "a duty of " + per_cent(duty->low);
  return "a duty of " + per_cent(duty->low) + " to " + per_cent(duty->high);
}

std::string length_words(const Seconds& time) {
  constexpr double kDay = 86400.0;
  if (time.value() <= kDay) return seconds_words(time);
  return unbroken(number_to_digits(time.value() / kDay, 2) + " days");
}

bool reference_may_be_slower(const CapturePlan& plan) {
  return plan.fastest_reference && !(plan.alias && plan.alias->always);
}

namespace {

std::string zone_text(const DecisionZone& zone, const CapturePlan& plan) {
  // Not to more places than U has, but where the zone is smaller.
  const double width = 0.5 * (zone.high_ppm - zone.low_ppm);
  const double u = plan.expanded.value();
  return unbroken(limits_to(zone.low_ppm, zone.high_ppm,
                            width > 0.0 ? std::min(u, width) : u, "ppm"));
}

void say_few_samples(const CapturePlan& plan, TextLayout& out) {
  const PulseSampling& pulses = plan.pulses;
  if (pulses.samples_per_period > kFewestSamplesPerPeriod) {
    out.paragraph(
        "Not decidable: of " + number_to_digits(plan.samples_per_period, 3) +
        " samples a period the shorter half has " +
        number_to_digits(pulses.shorter_half, 3) + ", of " + duty_text(plan) +
        ". It may show as one sample only, period after period; shorter "
        "pulses would then be missed, and nothing passes.");
    return;
  }
  // Digits enough to tell it from three.
  const double below = kFewestSamplesPerPeriod - pulses.samples_per_period;
  int digits = 3;
  while (digits < 9 && std::pow(10.0, 1 - digits) > 0.5 * below) ++digits;
  out.paragraph(
      "Not decidable: " + number_to_digits(plan.samples_per_period, digits) +
      " samples a period, " +
      number_to_digits(pulses.samples_per_period, digits) +
      " of the fastest clock in question, are too few: no clock of three or "
      "fewer passes.");
}

// How many of a hundred captures show a period that is off by too much.
std::string uneven_words(const CapturePlan& plan) {
  constexpr double kNearlyAll = 0.99;
  const bool nearly_all = plan.uneven > kNearlyAll;
  const std::string of =
      nearly_all ? "nearly every capture"
                 : "about " + number_to_digits(100.0 * plan.uneven, 2) +
                       " in 100 captures";
  return "with edges that jitter by " + seconds_words(*plan.input.jitter) +
         " rms " + of + " of " +
         unbroken(number_to_digits(plan.width.cycles, 2)) +
         (nearly_all ? " periods has" : " periods have") +
         " one that is off by more than a quarter: the clock "
         "may then be another with pulses missing, and mostly does not pass";
}

void say_reference_fails(const CapturePlan& plan, TextLayout& out) {
  const std::string reference =
      "the reference of " +
      frequency_words(plan.input.reference_hz->to_double());
  if (plan.limited_by == CaptureLimit::kSampleRate) {
    out.paragraph("Not decidable: " + reference + " is not seen at " +
                  frequency_words(plan.input.sample_rate_hz.to_double()) +
                  ": it has to have more than three samples a period.");
    return;
  }
  out.paragraph("Not decidable: in " + seconds_words(plan.duration) + " " +
                reference + " has too few cycles; five are needed, " +
                seconds_words(*plan.reference_needs) + ".");
}

void say_undecided(const CapturePlan& plan, const std::string& u,
                   TextLayout& out) {
  const bool by_capture = plan.limited_by == CaptureLimit::kSampling ||
                          plan.limited_by == CaptureLimit::kJitter;
  if (by_capture && plan.length_helps()) {
    out.paragraph(
        "This capture is too short to be sure of a decision: at worst " + u +
        ".");
    return;
  }
  const std::string source =
      plan.input.reference_tolerance ? "reference" : "timebase";
  const double alone = plan.timebase_U.value();
  const double half = half_of_limits(plan);
  out.paragraph(
      "Not decidable with this " +
      (alone < half ? std::string("capture: ")
                    : source + ", however long the capture: ") +
      u +
      (by_capture && alone >= half
           ? ", " + ppm_words(alone) + " of it the " + source + "'s alone."
           : "."));
}

void say_decidable(const CapturePlan& plan, const std::string& u,
                   TextLayout& out) {
  if (!plan.feasible) {
    const Seconds length = plan.needed ? plan.needed->duration : plan.duration;
    out.paragraph("Not feasible: only a capture of " + length_words(length) +
                  " or more could decide it.");
    return;
  }
  out.paragraph("This capture can decide it: " + u + ".");
  if (plan.uneven > 1.0 - plan.input.coverage) {
    out.paragraph("But " + uneven_words(plan) + ".");
  }
}

}  // namespace

void say_capture_answer(const CapturePlan& plan, TextLayout& out) {
  const std::string u = plan.expanded.value() > 0.0
                            ? "U = " + ppm_words(plan.expanded.value()) + " " +
                                  coverage_text(plan) + " against " +
                                  limits_of(plan)
                            : "the limits are " + limits_of(plan);
  if (plan.reference_fails) {
    say_reference_fails(plan, out);
  } else if (plan.limited_by == CaptureLimit::kSampleRate) {
    say_few_samples(plan, out);
  } else if (plan.limited_by == CaptureLimit::kAliasing) {
    out.paragraph("No pass is possible: at this sample rate " +
                  plan.alias->who + " looks the same.");
  } else if (plan.limited_by == CaptureLimit::kDuration) {
    out.paragraph("Not decidable: too few cycles; below five nothing passes.");
  } else if (plan.too_much_jitter) {
    out.paragraph("Not to be relied on: " + uneven_words(plan) + ".");
  } else if (plan.decidable) {
    say_decidable(plan, u, out);
  } else {
    say_undecided(plan, u, out);
  }
}

namespace {

std::string sure_of_pass(const CapturePlan& plan) {
  if (plan.zones.sure_pass) {
    return "; a clock that truly is within " +
           zone_text(*plan.zones.sure_pass, plan) + " will " +
           coverage_text(plan);
  }
  if (plan.alias) return "; sure of no clock: an alias is near";
  if (plan.uneven > 1.0 - plan.input.coverage) {
    return "; sure of no clock, for its jitter";
  }
  const std::string sure =
      "; sure of no clock: what is measured may be off by U, and where edges "
      "scatter U come to " +
      ppm_words(plan.at_most.value());
  if (!plan.zones.likely_pass) return sure;
  return "; a clock that truly is within " +
         zone_text(*plan.zones.likely_pass, plan) + " mostly will" + sure;
}

// What is far off may not show.
std::string shown_text(const CapturePlan& plan) {
  const auto hertz = [](const Hertz& f) { return frequency_words(f.value()); };
  const double fastest =
      expected_hz(plan) * (1.0 + plan.zones.sure_fail->high_ppm * 1e-6);
  const Hertz from = plan.zones.fails_from;
  const Hertz to = plan.zones.fails_to;
  return to.value() > fastest
             ? ", of " + hertz(from) + " to " + hertz(to) +
                   ": what is slower or faster hardly shows, and does not pass"
             : ", from " + hertz(from) +
                   " on: what is slower, or faster by far, hardly shows, and "
                   "does not pass";
}

}  // namespace

void say_capture_zones(const CapturePlan& plan, TextLayout& out) {
  if (!plan.zones.fails) return;
  if (plan.zones.passes) {
    out.labelled("passes", "what measures within " +
                               zone_text(*plan.zones.passes, plan) +
                               sure_of_pass(plan));
  }
  out.labelled("fails", "what measures beyond " +
                            zone_text(*plan.zones.fails, plan) +
                            "; a clock that truly is beyond " +
                            zone_text(*plan.zones.sure_fail, plan) + " will " +
                            coverage_text(plan) + shown_text(plan));
  out.labelled("", plan.zones.passes ? "between, it stays undecided"
                                     : "all else stays undecided");
}

}  // namespace clockassay
