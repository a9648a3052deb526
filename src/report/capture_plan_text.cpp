// SPDX-License-Identifier: GPL-3.0-or-later
#include <algorithm>
#include <cmath>

#include "clockassay/base/number_text.h"
#include "clockassay/estimate/frequency_estimate.h"
#include "clockassay/report/plan_report.h"
#include "report/capture_answer.h"
#include "report/number_format.h"
#include "report/plan_lines.h"
#include "report/text_layout.h"

namespace clockassay {
namespace {

// A long capture has more samples than a whole number holds.
std::string whole_number(double value) {
  constexpr double kCounted = 1e15;
  constexpr int kDigits = 3;
  return value < kCounted ? unbroken(count(static_cast<std::int64_t>(value)))
                          : scientific(value, kDigits);
}

std::string rate_text(const Rational& rate) {
  return frequency_words(rate.to_double());
}

// What the timebase is called.
std::string rate_source(const CapturePlan& plan) {
  return plan.input.reference_tolerance ? "reference" : "timebase";
}

std::string source_of_time(const CapturePlan& plan) {
  const CapturePlanInput& in = plan.input;
  if (in.reference_tolerance) {
    return "reference " +
           (in.reference_hz
                ? frequency_words(in.reference_hz->to_double()) + ' '
                : std::string()) +
           unbroken("\u00B1" + plain_number(in.reference_tolerance->value()) +
                    " ppm") +
           (in.reference_assumed ? " (assumed, nothing stated)" : "");
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
                 "edge jitter: none stated, taken as below " +
                     seconds_words(counts) + " rms, where it " +
                     (counts < plan.most_jitter ? "begins to count"
                                                : "begins to forbid a pass"));
    return;
  }
  if (!(plan.width.jitter > Ppm(0.0))) return;
  std::string words = "edge jitter of " + seconds_words(*plan.input.jitter) +
                      " rms: " + ppm_words(plan.width.jitter.value());
  const Seconds dithers(kDitheringJitter /
                        plan.input.sample_rate_hz.to_double());
  if (*plan.input.jitter < dithers && plan.width.jitter < plan.width.sampling) {
    words += "; from " + seconds_words(dithers) +
             " on it would dither the sampler, and a shorter capture do";
  }
  out.labelled("", words);
}

void say_uncertainty(const CapturePlan& plan, TextLayout& out) {
  if (!(plan.expanded.value() > 0.0)) return;
  out.labelled("U is of", source_of_time(plan) + ": " +
                              ppm_words(plan.timebase_U.value()) +
                              " by itself");
  std::string words = "the capture: " + ppm_words(plan.capture_U.value()) +
                      " by itself at worst, " + phases_text(plan);
  if (plan.input.reference_tolerance) words += "; the reference as much again";
  if (plan.at_most > plan.expanded) {
    words +=
        ". Where its edges scatter as if the clock wandered, U may come to " +
        ppm_words(plan.at_most.value());
  }
  out.labelled("", words);
  say_jitter(plan, out);
  if (plan.slowest_reference) {
    out.labelled("", "the reference runs through the same capture, at " +
                         frequency_words(plan.slowest_reference->value()) +
                         " or faster: five of its cycles");
  }
}

// Of a hundred; rounded down.
std::string in_hundred(double part) {
  return number_to_digits(std::floor(100.0 * part), 2) + " in 100";
}

void say_needed(const CapturePlan& plan, TextLayout& out) {
  if (!plan.needed) return;
  const NeededCapture& needed = *plan.needed;
  // Less than that more length would bring.
  constexpr double kWorthSaying = 0.02;
  constexpr double kAll = 0.995;
  out.labelled(
      "needed",
      length_words(needed.duration) + " at " +
          rate_text(plan.input.sample_rate_hz) + ": " +
          in_hundred(needed.passes) +
          " captures of a clock in the middle of its limits pass then" +
          (needed.at_best > needed.passes + kWorthSaying &&
                   needed.at_best < kAll && needed.passes < plan.input.coverage
               ? ", with this " + rate_source(plan) + " never more than " +
                     in_hundred(needed.at_best)
               : "") +
          (needed.jitter_below
               ? ", of an edge jitter below " +
                     seconds_words(*needed.jitter_below) + " rms"
               : ""));
}

const char* length_label(const CapturePlan& plan) {
  if (plan.input.duration) return "capture";
  return plan.decidable ? "comfortable" : "reckoned with";
}

std::string length_remark(const CapturePlan& plan) {
  if (plan.length_helps()) {
    if (plan.input.duration) return "";
    return plan.zones.sure_pass
               ? "; reckoned with here, it is sure of the clocks named above"
               : "; reckoned with here";
  }
  return "; no length by itself decides it";
}

void say_capture(const CapturePlan& plan, TextLayout& out) {
  say_needed(plan, out);
  out.labelled(length_label(plan), length_words(plan.duration) + " at " +
                                       rate_text(plan.input.sample_rate_hz) +
                                       ": " + whole_number(plan.size.samples) +
                                       " samples a channel" +
                                       length_remark(plan));
  if (!plan.feasible) {
    out.labelled("",
                 "nobody captures for that long: a faster sampler, a "
                 "better timebase or a wider tolerance");
    return;
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
  if (!c.duration && !c.sample_rate) {
    if (c.capture_alone || !c.timebase) return "A ";
    out.labelled("what to do", "No length or rate helps: only a better " +
                                   rate_source(plan) + " does.");
    return "A ";
  }
  std::string how;
  if (c.duration) how = "Capture for " + seconds_words(*c.duration);
  if (c.sample_rate) {
    how += (how.empty() ? "Capture as long as this at "
                        : ", or as long as this at ") +
           frequency_words(c.sample_rate->value());
  }
  const bool has_any = std::isfinite(plan.width.half_width.value());
  out.labelled(
      "what to do",
      c.capture_alone
          ? how + ": U comes down to half of the limits."
          : how + ", whatever the " + rate_source(plan) + ": this one alone " +
                (has_any ? "leaves " + ppm_words(plan.capture_U.value())
                         : "has too few cycles") +
                ".");
  return c.capture_alone ? "Or, with the capture as it is, a " : "And then, a ";
}

void say_cures(const CapturePlan& plan, TextLayout& out) {
  const CaptureCures& c = plan.cures;
  if (plan.also_too_large) {
    out.labelled("",
                 "Besides, U is too large as it is: plan again with that "
                 "mended.");
    return;
  }
  if (c.less_jitter) {
    out.labelled(
        "what to do",
        "Route the clock out through a divider: the same jitter is "
        "less of a longer period. A capture that is long enough mostly "
        "has a period that is off by more than a quarter.");
    return;
  }
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

// At the same rate the clock, or the reference, has to be slower.
std::string slower_words(const CapturePlan& plan) {
  if (reference_may_be_slower(plan)) {
    return "take a reference of " +
           frequency_words(plan.fastest_reference->value()) + " or slower";
  }
  if (!plan.needed_divider) return "";
  const int by = *plan.needed_divider;
  const double f = plan.input.expect.frequency_hz.to_double() / by;
  return "route the clock out through a divider by " + std::to_string(by) +
         " or more: " + unbroken(path_hertz(f)) + ", with a duty of 50 %";
}

void say_needed_rate(const CapturePlan& plan, TextLayout& out) {
  const std::string slower = slower_words(plan);
  if (plan.needed_rate_hz) {
    out.labelled("what to do",
                 "Sample at " + rate_text(*plan.needed_rate_hz) +
                     (plan.needed_or_faster
                          ? " or faster"
                          : ", just that: not every faster rate will do") +
                     (slower.empty() ? "" : ", or " + slower) + '.');
  } else if (!slower.empty()) {
    out.labelled("what to do", "No usual rate is enough: " + slower + '.');
  } else if (plan.limited_by == CaptureLimit::kAliasing) {
    out.labelled("what to do",
                 "No usual rate tells them apart: route the clock out through "
                 "another divider.");
  }
}

void say_aliases(const CapturePlan& plan, TextLayout& out) {
  if (plan.seen_hz) {
    out.labelled("alias", "at this rate it is seen at " +
                              unbroken(path_hertz(plan.seen_hz->to_double())));
  }
  if (!plan.pulses.told) say_needed_rate(plan, out);
  if (!plan.alias) return;
  const AliasDanger& a = *plan.alias;
  out.labelled("alias",
               a.who + ", " + unbroken(path_hertz(a.frequency_hz.to_double())) +
                   ", would be seen at " +
                   unbroken(path_hertz(a.seen_hz.to_double())) +
                   (a.always ? ""
                             : ", which is near enough to forbid a pass "
                               "of some of the clocks in the limits"));
  if (a.telling_rate_hz && !a.always) {
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
                                    ppm_words(plan.better_U->value()) +
                                    " in place of " +
                                    ppm_words(plan.capture_U.value()));
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
  say_capture_answer(plan, out);
  out.blank_line();
  say_capture_zones(plan, out);
  if (plan.pulses.told &&
      (plan.limited_by == CaptureLimit::kAliasing || plan.fastest_reference)) {
    say_needed_rate(plan, out);
  }
  if (plan.too_much_jitter) {
    out.labelled("what to do",
                 "Route the clock out through a divider: the same jitter is "
                 "less of a longer period. Up to " +
                     seconds_words(plan.most_jitter) + " rms no more than " +
                     plain_number(100.0 * (1.0 - plan.input.coverage)) +
                     " in 100 captures have one here. A capture of far more "
                     "jitter may pass after repairs; no plan is made on that." +
                     (plan.needed ? " Or capture for no longer than is needed: "
                                    "fewer periods, of which fewer are off."
                                  : ""));
  }
  if (plan.reference_fails && plan.limited_by == CaptureLimit::kDuration) {
    out.labelled("what to do", "Capture for " +
                                   seconds_words(*plan.reference_needs) +
                                   ", or take a faster reference.");
  }
  // Of a clock that is not to be seen at this rate no figure means anything.
  if (plan.limited_by != CaptureLimit::kSampleRate || plan.reference_fails) {
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
