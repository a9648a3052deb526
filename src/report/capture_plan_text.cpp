// SPDX-License-Identifier: GPL-3.0-or-later
// Plans of path and capture.
#include <cmath>

#include "clockassay/base/number_text.h"
#include "clockassay/plan/cautions.h"
#include "clockassay/report/plan_report.h"
#include "report/display_width.h"
#include "report/number_format.h"
#include "report/text_layout.h"

namespace clockassay {
namespace {

// Beyond a per cent nobody counts in ppm.
constexpr double kPpmPerCent = 1e4;

std::string difference_text(double ppm) {
  constexpr int kDigits = 6;
  const std::string sign = ppm > 0.0 ? "+" : "";
  if (std::abs(ppm) < kPpmPerCent)
    return sign + number_text(ppm, kDigits) + " ppm";
  return sign + number_text(ppm / kPpmPerCent, kDigits) + " %";
}

std::string hertz(double value) {
  // What no decimal ends is told to a tenth of a ppm.
  constexpr double kPlace = 1e-6;
  const std::string whole = nominal_frequency(value);
  constexpr std::size_t kShort = 13;
  return whole.size() <= kShort ? whole : frequency_to(value, kPlace * value);
}

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
    out.paragraph(columns(difference_text(slip.difference_ppm),
                          hertz(slip.neighbour.frequency_hz.to_double()),
                          slip.neighbour.ratio.to_string()) +
                      (slip.like_intended ? "(!) " : "") +
                      slip.neighbour.description,
                  kWordsColumn);
  }
}

bool any_like_intended(const PathPlan& plan) {
  for (const PathSlip& slip : plan.slips) {
    if (slip.like_intended) return true;
  }
  return false;
}

void say_coincidences(const PathPlan& plan, TextLayout& out) {
  const std::string band = "\u00B1" + plain_number(plan.tolerance_ppm) + " ppm";
  if (any_like_intended(plan)) {
    out.blank_line();
    out.paragraph("(!) With a source anywhere within " + unbroken(band) +
                  " this looks like the intended clock: read the registers, no "
                  "capture tells.");
  }
  if (plan.coincidences.empty()) return;
  out.blank_line();
  out.paragraph("With a source anywhere within " + unbroken(band) +
                " a capture does not tell apart:");
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

void say_cautions(PlanKind kind, TextLayout& out) {
  for (const std::string& caution : plan_cautions(kind)) {
    out.labelled("caution", caution);
  }
}

std::string ppm(double value) {
  return unbroken(number_to_digits(value, 2) + " ppm");
}

std::string rate_text(const Rational& rate) {
  return unbroken(nominal_frequency(rate.to_double()));
}

std::string limits_of(const CapturePlan& plan) {
  return unbroken(limits(plan.low_ppm, plan.high_ppm, "ppm"));
}

std::string zone_text(const DecisionZone& zone, double u) {
  return unbroken(limits_to(zone.low_ppm, zone.high_ppm, u, "ppm"));
}

void say_answer(const CapturePlan& plan, TextLayout& out) {
  const std::string u = plan.expanded.value() > 0.0
                            ? "U = " + ppm(plan.expanded.value()) + " (" +
                                  plain_number(100.0 * plan.input.coverage) +
                                  " %) against " + limits_of(plan)
                            : "the limits are " + limits_of(plan);
  switch (plan.limited_by) {
    case CaptureLimit::kSampleRate:
      out.paragraph(
          "Not decidable: " + number_to_digits(plan.samples_per_period, 3) +
          " samples a period are too few, whatever is measured.");
      return;
    case CaptureLimit::kAliasing:
      out.paragraph("No pass is possible: at this sample rate " +
                    plan.alias->who + " looks the same.");
      return;
    case CaptureLimit::kDuration:
      out.paragraph(
          "Not decidable: too few cycles; below five nothing "
          "passes.");
      return;
    default:
      break;
  }
  const bool by_sampling = plan.limited_by == CaptureLimit::kSampling ||
                           plan.limited_by == CaptureLimit::kJitter;
  out.paragraph(plan.decidable ? "This capture can decide it: " + u + "."
                : by_sampling
                    ? "This capture is too short to be sure of a decision: at "
                      "worst " +
                          u + "."
                    : "Not decidable with this capture: " + u + ".");
}

void say_zones(const CapturePlan& plan, TextLayout& out) {
  if (!plan.decidable) return;
  const double u = plan.expanded.value();
  const auto sure = [&](const std::optional<DecisionZone>& zone) {
    return zone ? "; sure of a clock within " + zone_text(*zone, u)
                : std::string(
                      "; sure of no clock: U is more than a quarter of "
                      "the limits' width");
  };
  out.labelled("passes", "what measures within " +
                             zone_text(*passing_zone(plan, u), u) +
                             sure(passing_zone(plan, 2.0 * u)));
  out.labelled("fails", "what measures beyond " +
                            zone_text(failing_beyond(plan, u), u) +
                            "; sure of a clock beyond " +
                            zone_text(failing_beyond(plan, 2.0 * u), u));
  out.labelled("", "between, it stays undecided");
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

void say_uncertainty(const CapturePlan& plan, TextLayout& out) {
  if (!(plan.expanded.value() > 0.0)) return;
  out.labelled("U is of", source_of_time(plan) + ": " +
                              ppm(plan.timebase_U.value()) + " by itself");
  std::string words =
      "the capture: " + ppm(plan.capture_U.value()) + " by itself at worst, ";
  words += plan.width.fewest_phases == 1
               ? "a sample interval over its length: the clock may lock to the "
                 "sample rate"
               : "clocks in these limits meet the sampler at " +
                     count(plan.width.fewest_phases) + " phases or more";
  if (plan.input.reference_tolerance) words += "; the reference as much again";
  out.labelled("", words);
  if (!plan.input.jitter) {
    out.labelled("", "edge jitter: none stated; below " +
                         unbroken(time_to_digits(
                             plan.width.jitter_that_counts.value(), 2)) +
                         " rms it does not count");
  } else if (plan.width.jitter > Ppm(0.0)) {
    out.labelled("",
                 "edge jitter of " +
                     unbroken(time_to_digits(plan.input.jitter->value(), 2)) +
                     " rms: " + ppm(plan.width.jitter.value()));
  }
}

void say_capture(const CapturePlan& plan, TextLayout& out) {
  out.labelled(
      "capture",
      unbroken(time_to_digits(plan.duration.value(), 2)) + " at " +
          rate_text(plan.input.sample_rate_hz) +
          (plan.input.duration ? "" : ", whatever the clock locks to") + ": " +
          unbroken(count(static_cast<std::int64_t>(plan.size.samples))) +
          " samples a channel");
  if (plan.shortest && plan.shortest < plan.duration) {
    out.labelled("", "from " +
                         unbroken(time_to_digits(plan.shortest->value(), 2)) +
                         " on U is below the limits, and little can pass");
  }
  if (plan.shortest && plan.shortest > plan.duration && !plan.decidable) {
    out.labelled("what to do",
                 "Capture for " +
                     unbroken(time_to_digits(plan.shortest->value(), 2)) +
                     " at least; without --duration a good length is worked "
                     "out.");
  }
}

void say_cures(const CapturePlan& plan, TextLayout& out) {
  const CaptureCures& c = plan.cures;
  const bool small =
      passing_zone(plan, 2.0 * plan.expanded.value()).has_value();
  if (plan.limited_by == CaptureLimit::kSampleRate || small) return;
  if (!c.timebase && !c.reference && !c.calibration) return;
  if (!plan.shortest) {
    out.labelled("what to do",
                 "No length or rate helps: only a better timebase does.");
  }
  if (c.timebase) {
    out.labelled(plan.shortest ? "what to do" : "",
                 "A timebase known to \u00B1" + ppm(c.timebase->value()) +
                     " brings U down to half of the limits.");
  }
  if (c.calibration) {
    out.labelled("", "Such is had by measuring a clock known to \u00B1" +
                         ppm(c.calibration->value()) +
                         " with this instrument once, warmed up (--timebase "
                         "OFFSET\u00B1TOL).");
  }
  if (c.reference) {
    out.labelled("", "Or record a clock known to \u00B1" +
                         ppm(c.reference->value()) +
                         " on another channel of the same capture "
                         "(--reference; here --reference-tolerance).");
  }
}

void say_aliases(const CapturePlan& plan, TextLayout& out) {
  if (plan.seen_hz) {
    out.labelled("alias", "at this rate it is seen at " +
                              unbroken(hertz(plan.seen_hz->to_double())));
  }
  if (plan.needed_rate_hz) {
    out.labelled("what to do",
                 "Sample at " + rate_text(*plan.needed_rate_hz) +
                     " or faster, or route the clock out through a divider.");
  }
  if (!plan.alias) return;
  const AliasDanger& a = *plan.alias;
  out.labelled("alias",
               a.who + ", " + unbroken(hertz(a.frequency_hz.to_double())) +
                   ", would be seen at " +
                   unbroken(hertz(a.seen_hz.to_double())) +
                   (a.always ? ""
                             : ", which is near enough to forbid a pass "
                               "of some of the clocks in the limits"));
  if (a.telling_rate_hz) {
    out.labelled("", rate_text(*a.telling_rate_hz) + " tells them apart");
  }
}

void say_phases(const CapturePlan& plan, TextLayout& out) {
  out.labelled("sampling", number_to_digits(plan.samples_per_period, 4) +
                               " samples a period; one period shows the duty "
                               "to \u00B1" +
                               number_to_digits(100.0 * plan.duty_by_one, 2) +
                               " %, the mean of all to \u00B1" +
                               number_to_digits(100.0 * plan.duty_by_mean, 2) +
                               " % at worst");
  if (plan.few_phases) {
    const FewPhases& few = *plan.few_phases;
    const bool one = few.periods == 1;
    out.labelled(
        "locked",
        (one ? std::string("a period of the expected clock is ")
             : count(few.periods) + " periods of the expected clock are ") +
            count(few.samples) + " samples: its edges meet the sampler at " +
            (one ? "one phase" : count(few.periods) + " phases") +
            ". Counted above; it shows no jitter");
  }
  if (plan.better_rate_hz) {
    out.labelled("better rate", rate_text(*plan.better_rate_hz) + " leaves " +
                                    ppm(plan.better_half_width->value()) +
                                    " in place of " +
                                    ppm(plan.width.half_width.value()));
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

std::string plan_text(const PathPlan& plan) {
  TextLayout out;
  out.paragraph(clock_path_expression(plan.path) + " is " +
                unbroken(hertz(plan.path.frequency_hz.to_double())) +
                ", exactly " +
                unbroken(plan.path.frequency_hz.to_string() + " Hz") +
                ". With one slip on the way the pin shows:");
  out.blank_line();
  say_slips(plan, out);
  say_coincidences(plan, out);
  out.blank_line();
  say_cautions(PlanKind::kPath, out);
  return out.text();
}

std::string plan_text(const CapturePlan& plan) {
  TextLayout out;
  say_answer(plan, out);
  out.blank_line();
  say_zones(plan, out);
  // Of a clock that is not to be seen at this rate no figure means anything.
  if (plan.limited_by != CaptureLimit::kSampleRate) {
    say_uncertainty(plan, out);
    say_capture(plan, out);
    say_cures(plan, out);
    say_phases(plan, out);
    say_size(plan, out);
  }
  say_aliases(plan, out);
  say_cautions(PlanKind::kCapture, out);
  return out.text();
}

}  // namespace clockassay
