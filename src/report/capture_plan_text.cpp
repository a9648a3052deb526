// SPDX-License-Identifier: GPL-3.0-or-later
#include <algorithm>

#include "clockassay/base/number_text.h"
#include "clockassay/estimate/frequency_estimate.h"
#include "clockassay/report/plan_report.h"
#include "report/number_format.h"
#include "report/plan_lines.h"
#include "report/text_layout.h"

namespace clockassay {
namespace {

std::string ppm(double value) {
  return unbroken(number_to_digits(value, 2) + " ppm");
}

std::string within_ppm(const Ppm& value) {
  return unbroken("\u00B1" + number_to_digits(value.value(), 2) + " ppm");
}

std::string seconds(const Seconds& value) {
  return unbroken(time_to_digits(value.value(), 2));
}

std::string per_cent(double fraction) {
  return unbroken(number_to_digits(100.0 * fraction, 2) + " %");
}

std::string frequency(double hertz) {
  return unbroken(nominal_frequency(hertz));
}

// A long capture has more samples than a whole number holds.
std::string whole_number(double value) {
  constexpr double kCounted = 1e15;
  constexpr int kDigits = 3;
  return value < kCounted ? unbroken(count(static_cast<std::int64_t>(value)))
                          : scientific(value, kDigits);
}

std::string rate_text(const Rational& rate) {
  return frequency(rate.to_double());
}

std::string limits_of(const CapturePlan& plan) {
  return unbroken(limits(plan.low_ppm, plan.high_ppm, "ppm"));
}

std::string zone_text(const DecisionZone& zone, const CapturePlan& plan) {
  return unbroken(
      limits_to(zone.low_ppm, zone.high_ppm, plan.expanded.value(), "ppm"));
}

std::string coverage_text(const CapturePlan& plan) {
  return unbroken("(" + plain_number(100.0 * plan.input.coverage) + " %)");
}

// What the timebase is called.
std::string rate_source(const CapturePlan& plan) {
  return plan.input.reference_tolerance ? "reference" : "timebase";
}

std::string duty_text(const CapturePlan& plan) {
  const std::optional<DutyRange>& duty = plan.input.duty;
  if (!duty) return "a duty of 50 %, assumed (--duty)";
  if (duty->low == duty->high) return "a duty of " + per_cent(duty->low);
  return "a duty of " + per_cent(duty->low) + " to " + per_cent(duty->high);
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
  out.paragraph(
      "Not decidable: " + number_to_digits(plan.samples_per_period, 3) +
      " samples a period, " + number_to_digits(pulses.samples_per_period, 3) +
      " of the fastest clock in question, are too few: no clock of "
      "less than three passes.");
}

void say_too_much_jitter(const CapturePlan& plan, TextLayout& out) {
  out.paragraph("Not decidable: among " +
                unbroken(number_to_digits(plan.width.cycles, 2)) +
                " periods with edges that jitter by " +
                seconds(*plan.input.jitter) +
                " rms some may be off by more than a quarter: such a clock may "
                "be another with pulses missing, and does not pass.");
}

void say_undecided(const CapturePlan& plan, const std::string& u,
                   TextLayout& out) {
  const bool by_capture = plan.limited_by == CaptureLimit::kSampling ||
                          plan.limited_by == CaptureLimit::kJitter;
  out.paragraph(by_capture ? "This capture is too short to be sure of a "
                             "decision: at worst " +
                                 u + "."
                           : "Not decidable with this capture: " + u + ".");
}

void say_answer(const CapturePlan& plan, TextLayout& out) {
  const std::string u = plan.expanded.value() > 0.0
                            ? "U = " + ppm(plan.expanded.value()) + " " +
                                  coverage_text(plan) + " against " +
                                  limits_of(plan)
                            : "the limits are " + limits_of(plan);
  if (plan.limited_by == CaptureLimit::kSampleRate) {
    say_few_samples(plan, out);
  } else if (plan.limited_by == CaptureLimit::kAliasing) {
    out.paragraph("No pass is possible: at this sample rate " +
                  plan.alias->who + " looks the same.");
  } else if (plan.limited_by == CaptureLimit::kDuration) {
    out.paragraph("Not decidable: too few cycles; below five nothing passes.");
  } else if (plan.too_much_jitter) {
    say_too_much_jitter(plan, out);
  } else if (plan.decidable) {
    out.paragraph("This capture can decide it: " + u + ".");
  } else {
    say_undecided(plan, u, out);
  }
}

std::string sure_of_pass(const CapturePlan& plan) {
  if (plan.zones.sure_pass) {
    return "; a clock that truly is within " +
           zone_text(*plan.zones.sure_pass, plan) + " will " +
           coverage_text(plan);
  }
  return plan.alias ? "; sure of no clock: an alias is near"
                    : "; sure of no clock: U may come to as much as the "
                      "limits";
}

void say_zones(const CapturePlan& plan, TextLayout& out) {
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
                            coverage_text(plan));
  out.labelled("", plan.zones.passes ? "between, it stays undecided"
                                     : "all else stays undecided");
}

std::string source_of_time(const CapturePlan& plan) {
  const CapturePlanInput& in = plan.input;
  if (in.reference_tolerance) {
    return "reference \u00B1" + plain_number(in.reference_tolerance->value()) +
           " ppm";
  }
  return std::string("timebase \u00B1") +
         plain_number(in.timebase.tolerance.value()) + " ppm (" +
         (in.timebase.kind == TimebaseKind::kAssumed
              ? "assumed, nothing stated"
              : timebase_kind_name(in.timebase.kind)) +
         ")";
}

std::string phases_text(const CapturePlan& plan) {
  const CaptureWidth& width = plan.width;
  if (width.fewest_phases == 1) {
    return "a sample interval over its length: the clock may lock to the "
           "sample rate";
  }
  std::string text = "clocks in question meet the sampler at " +
                     count(width.fewest_phases) + " phases or more";
  if (width.counted_phases == 1) {
    text +=
        ", counted as one: with a little jitter so few tell no more than "
        "that";
  }
  return text;
}

void say_jitter(const CapturePlan& plan, TextLayout& out) {
  if (!plan.input.jitter) {
    const Seconds counts =
        std::min(plan.width.jitter_that_counts, plan.most_jitter);
    out.labelled("",
                 "edge jitter: none stated, taken as below " + seconds(counts) +
                     " rms, where it " +
                     (counts < plan.most_jitter ? "begins to count"
                                                : "begins to forbid a pass"));
    return;
  }
  if (!(plan.width.jitter > Ppm(0.0))) return;
  out.labelled("", "edge jitter of " + seconds(*plan.input.jitter) +
                       " rms: " + ppm(plan.width.jitter.value()));
}

void say_uncertainty(const CapturePlan& plan, TextLayout& out) {
  if (!(plan.expanded.value() > 0.0)) return;
  out.labelled("U is of", source_of_time(plan) + ": " +
                              ppm(plan.timebase_U.value()) + " by itself");
  std::string words = "the capture: " + ppm(plan.capture_U.value()) +
                      " by itself at worst, " + phases_text(plan);
  if (plan.input.reference_tolerance) words += "; the reference as much again";
  if (plan.at_most > plan.expanded) {
    words +=
        ". Where its edges scatter as if the clock wandered, U may come to " +
        ppm(plan.at_most.value());
  }
  out.labelled("", words);
  say_jitter(plan, out);
  if (plan.slowest_reference) {
    out.labelled("", "the reference runs through the same capture, at " +
                         frequency(plan.slowest_reference->value()) +
                         " or faster: five of its cycles");
  }
}

void say_capture(const CapturePlan& plan, TextLayout& out) {
  out.labelled(
      "capture",
      seconds(plan.duration) + " at " + rate_text(plan.input.sample_rate_hz) +
          (plan.input.duration ? "" : ", whatever the clock locks to") + ": " +
          whole_number(plan.size.samples) + " samples a channel");
  if (plan.enough) {
    out.labelled("", seconds(*plan.enough) +
                         " leaves as little if the clock is one in question");
  }
  if (plan.shortest && plan.shortest < plan.duration) {
    out.labelled("", "from " + seconds(*plan.shortest) +
                         " on U is below the limits, and little can pass");
  }
  if (plan.is_long) {
    out.labelled("",
                 "that is long: clock and timebase move meanwhile, and "
                 "wander widens U; a faster sampler needs less");
  }
}

// How U is brought down by the capture; what follows begins with the words
// returned.
std::string say_capture_cure(const CapturePlan& plan, TextLayout& out) {
  const CaptureCures& c = plan.cures;
  if (!c.duration) {
    if (c.capture_alone || !c.timebase) return "A ";
    out.labelled("what to do", "No length or rate helps: only a better " +
                                   rate_source(plan) + " does.");
    return "A ";
  }
  std::string how = "Capture for " + seconds(*c.duration);
  if (c.sample_rate) {
    how += ", or as long as this at " + frequency(c.sample_rate->value());
  }
  out.labelled("what to do", c.capture_alone
                                 ? how + ": U comes down to half of the limits."
                                 : how + ", whatever the " + rate_source(plan) +
                                       ": this one alone leaves " +
                                       ppm(plan.capture_U.value()) + ".");
  return c.capture_alone ? "Or, with the capture as it is, a " : "And then, a ";
}

void say_cures(const CapturePlan& plan, TextLayout& out) {
  const CaptureCures& c = plan.cures;
  const std::string begin = say_capture_cure(plan, out);
  if (c.timebase) {
    out.labelled(begin == "A " && c.capture_alone ? "what to do" : "",
                 begin + rate_source(plan) + " known to " +
                     within_ppm(*c.timebase) +
                     " brings U down to half of the limits.");
  }
  if (c.calibration) {
    out.labelled("", "Such is had by measuring a clock known to " +
                         within_ppm(*c.calibration) +
                         " with this instrument once, warmed up (--timebase "
                         "OFFSET\u00B1TOL).");
  }
  if (c.reference) {
    out.labelled("", "Or record a clock known to " + within_ppm(*c.reference) +
                         " on another channel of the same capture "
                         "(--reference; here --reference-tolerance).");
  }
}

void say_aliases(const CapturePlan& plan, TextLayout& out) {
  if (plan.seen_hz) {
    out.labelled("alias", "at this rate it is seen at " +
                              unbroken(path_hertz(plan.seen_hz->to_double())));
  }
  if (plan.needed_rate_hz) {
    out.labelled("what to do",
                 "Sample at " + rate_text(*plan.needed_rate_hz) +
                     " or faster, or route the clock out through a divider.");
  }
  if (!plan.alias) return;
  const AliasDanger& a = *plan.alias;
  out.labelled("alias",
               a.who + ", " + unbroken(path_hertz(a.frequency_hz.to_double())) +
                   ", would be seen at " +
                   unbroken(path_hertz(a.seen_hz.to_double())) +
                   (a.always ? ""
                             : ", which is near enough to forbid a pass "
                               "of some of the clocks in the limits"));
  if (a.telling_rate_hz) {
    out.labelled("", rate_text(*a.telling_rate_hz) + " tells them apart");
  }
}

void say_locked(const CapturePlan& plan, TextLayout& out) {
  if (!plan.few_phases) return;
  const FewPhases& few = *plan.few_phases;
  const bool one = few.periods == 1;
  out.labelled(
      "locked",
      (one ? std::string("a period of the expected clock is ")
           : count(few.periods) + " periods of the expected clock are ") +
          count(few.samples) + " samples: its edges meet the sampler at " +
          (one ? "one phase" : count(few.periods) + " phases") +
          ". U holds that already; its jitter below a sample stays unseen");
}

void say_sampling(const CapturePlan& plan, TextLayout& out) {
  out.labelled("sampling",
               number_to_digits(plan.samples_per_period, 4) +
                   " samples a period, its shorter half " +
                   number_to_digits(plan.pulses.shorter_half, 3) + " of " +
                   duty_text(plan) + "; one period shows the duty to \u00B1" +
                   per_cent(plan.duty_by_one) + ", the mean of all to \u00B1" +
                   per_cent(plan.duty_by_mean) + " at worst");
  say_locked(plan, out);
  if (plan.better_rate_hz) {
    out.labelled("better rate", rate_text(*plan.better_rate_hz) + " leaves " +
                                    ppm(plan.better_half_width->value()) +
                                    " in place of " +
                                    ppm(plan.width.half_width.value()));
  } else if (plan.even_rate) {
    out.labelled("better rate",
                 "no usual one near halves what sampling leaves; one such as " +
                     unbroken(frequency_to(plan.even_rate->value(),
                                           1e-4 * plan.even_rate->value())) +
                     " meets the expected clock at all phases");
  }
}

void say_size(const CapturePlan& plan, TextLayout& out) {
  const auto bytes = [](double n) {
    return unbroken(quantity_to_digits(n, 2, "B"));
  };
  out.labelled("file", "about " + bytes(plan.size.vcd_bytes) + " as VCD, " +
                           bytes(plan.size.csv_changes_bytes) +
                           " as CSV with a row a change, " +
                           bytes(plan.size.csv_samples_bytes) +
                           " with a row a sample");
}

}  // namespace

std::string plan_text(const CapturePlan& plan) {
  TextLayout out;
  say_answer(plan, out);
  out.blank_line();
  say_zones(plan, out);
  if (plan.too_much_jitter) {
    out.labelled("what to do",
                 "Route the clock out through a divider: the same jitter is "
                 "less of a longer period. Here " +
                     seconds(plan.most_jitter) + " rms is the most.");
  }
  // Of a clock that is not to be seen at this rate no figure means anything.
  if (plan.limited_by != CaptureLimit::kSampleRate) {
    say_uncertainty(plan, out);
    say_capture(plan, out);
    say_cures(plan, out);
    say_sampling(plan, out);
    say_size(plan, out);
  }
  say_aliases(plan, out);
  out.labelled("method", "docs/plan.md, Capture");
  say_cautions(PlanKind::kCapture, out);
  return out.text();
}

}  // namespace clockassay
