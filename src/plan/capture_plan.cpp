// SPDX-License-Identifier: GPL-3.0-or-later
#include "clockassay/plan/capture_plan.h"

#include <algorithm>
#include <cmath>

#include "clockassay/estimate/frequency_estimate.h"
#include "clockassay/uncertainty/error_distribution.h"
#include "plan/capture_cures.h"
#include "plan/capture_jitter.h"
#include "plan/capture_question.h"
#include "plan/capture_sampling.h"
#include "verdict/advice.h"

namespace clockassay {
namespace {

// What verify makes of a scatter it cannot tell from wander: seldom more of
// what is foreseen (docs/plan.md, As planned?).
constexpr double kScatter = 8.0;

// Chosen: so little of the limits that the scatter leaves three quarters.
constexpr double kCaptureShare = 0.25 / kScatter;

// Chosen: in a quarter of an hour a room and a board change by what moves a
// crystal by a tenth of a ppm.
constexpr Seconds kLongCapture(900.0);

// Chosen: a year. Nothing longer is worked out.
constexpr Seconds kLongestCapture(3.2e7);

// Chosen: a day. Nobody captures for longer.
constexpr Seconds kFeasible(86400.0);

// What U leaves to the capture, as a 95 % half-width; absent: nothing.
std::optional<double> room_for_capture(const CapturePlan& plan) {
  const auto sigma = sufficient_normal(
      rectangle_of(plan.input), plan.input.coverage, half_of_limits(plan));
  if (!sigma) return std::nullopt;
  return half_width_of(*sigma).value();
}

// Where the timebase leaves it, U is half of the limits: then what is measured
// of a clock in their middle is within the rest at the coverage. Else the
// capture adds a quarter of what the timebase leaves.
std::optional<NeededCapture> needed_capture(const CapturePlan& plan) {
  const double half = half_of_limits(plan);
  const double coverage = plan.input.coverage;
  const double a = rectangle_of(plan.input);
  const double u_timebase = expanded_of(a, 0.0, coverage);
  if (!(u_timebase < half)) return std::nullopt;
  const double aim =
      std::max(0.5 * half, u_timebase + 0.25 * (half - u_timebase));
  const auto sigma = sufficient_normal(a, coverage, aim);
  if (!sigma || !(*sigma > 0.0)) return std::nullopt;
  const Seconds time = duration_by_width(plan, half_width_of(*sigma).value());
  if (!(time <= kLongestCapture)) return std::nullopt;
  const double s = capture_sigma(plan, sample_rate(plan), time,
                                 plan.input.reference_tolerance.has_value());
  const double room = half - expanded_of(a, s, coverage);
  const ErrorDistribution d{a, s};
  if (!is_proper(d) || !(room > 0.0)) return std::nullopt;
  const double all = half - u_timebase;
  const double at_best =
      a > 0.0 ? probability_within({a, 0.0}, 0.0, -all, all) : 1.0;
  return NeededCapture{time, probability_within(d, 0.0, -room, room), at_best};
}

void choose_duration(CapturePlan& plan) {
  plan.needed = needed_capture(plan);
  const std::optional<double> room = room_for_capture(plan);
  if (room) {
    const Seconds shortest = duration_by_width(plan, *room);
    if (shortest <= kLongestCapture) plan.shortest = shortest;
  }
  const double share = kCaptureShare * half_of_limits(plan);
  const double wanted = room ? std::min(share, 0.5 * *room) : share;
  Seconds safe = std::min(safe_duration(plan, wanted), kLongestCapture);
  // A day, where what is needed is less.
  if (plan.needed && plan.needed->duration <= kFeasible) {
    safe = std::min(safe, kFeasible);
  }
  plan.duration = plan.input.duration.value_or(safe);
  plan.is_long = plan.duration > kLongCapture;
  plan.feasible = plan.duration <= kFeasible;
  if (plan.input.duration) return;
  const Seconds enough = duration_by_width(plan, wanted);
  if (enough < plan.duration) plan.enough = enough;
}

void add_uncertainty(CapturePlan& plan) {
  plan.width = width_at(plan, sample_rate(plan), plan.duration);
  const double a = rectangle_of(plan.input);
  const double coverage = plan.input.coverage;
  plan.timebase_U = Ppm(expanded_of(a, 0.0, coverage));
  if (!std::isfinite(plan.width.half_width.value())) return;
  const double s = capture_sigma(plan, sample_rate(plan), plan.duration,
                                 plan.input.reference_tolerance.has_value());
  plan.capture_U = Ppm(expanded_of(0.0, s, coverage));
  plan.expanded = Ppm(expanded_of(a, s, coverage));
  plan.at_most = Ppm(expanded_of(a, kScatter * s, coverage));
}

// Of that length: where U is larger clocks farther off are in question.
bool shows_pulses(const CapturePlan& plan, Seconds duration) {
  CapturePlan other = plan;
  other.duration = duration;
  add_uncertainty(other);
  return sample_pulses(other, sample_rate(other)).told;
}

// Of captures of the needed length some have a period that is off by too much;
// with half of them no length is named. A clock that is not to be seen, or that
// another looks like, is told by none.
void keep_what_helps(CapturePlan& plan, std::optional<CaptureLimit> forbids) {
  if (!plan.needed) return;
  if (forbids == CaptureLimit::kSampleRate ||
      forbids == CaptureLimit::kAliasing) {
    plan.needed.reset();
    return;
  }
  NeededCapture& needed = *plan.needed;
  if (!shows_pulses(plan, needed.duration)) {
    plan.needed.reset();
    return;
  }
  const CaptureWidth width = width_at(plan, sample_rate(plan), needed.duration);
  // Of so few cycles some captures scatter so that U comes from their parts,
  // about one or two in a hundred (docs/plan.md, As planned?); chosen: three.
  constexpr double kFewCycles = 600.0;
  constexpr double kMostOfFew = 0.97;
  if (width.cycles < kFewCycles) {
    needed.passes = std::min(needed.passes, kMostOfFew);
  }
  if (!plan.input.jitter) {
    needed.jitter_below =
        std::min(width.jitter_that_counts, most_jitter(plan, width.cycles));
    return;
  }
  const double even =
      1.0 - share_uneven(plan, width.cycles, *plan.input.jitter);
  needed.passes *= even;
  needed.at_best *= even;
  if (even < 1.0 - kMostUneven) plan.needed.reset();
}

void add_reference(CapturePlan& plan) {
  if (!plan.input.reference_tolerance) return;
  plan.reference_needs = reference_needs(plan);
  if (plan.reference_needs) return;
  // Whole cycles from edge to edge, and one for the ends.
  plan.slowest_reference =
      Hertz(two_digits_up((kFewestToDecide + 1.0) / plan.duration.value()));
}

double digits_before_point(double value) {
  return value < 10.0 ? 1.0 : std::floor(std::log10(value)) + 1.0;
}

void add_size(CapturePlan& plan) {
  const double time = plan.duration.value();
  CaptureSize& size = plan.size;
  size.samples = std::ceil(time * sample_rate(plan));
  size.level_changes = std::min(2.0 * time * expected_hz(plan), size.samples);
  // "1.234567890,1\n" and "#1234567890\n1!\n", nanoseconds written out.
  const double csv_row = digits_before_point(time) + 13.0;
  const double vcd_change = digits_before_point(time * 1e9) + 5.0;
  size.csv_changes_bytes = size.level_changes * csv_row;
  size.csv_samples_bytes = size.samples * csv_row;
  size.vcd_bytes = size.level_changes * vcd_change;
}

std::optional<DecisionZone> within(const CapturePlan& plan, double u) {
  const DecisionZone zone{plan.low_ppm + u, plan.high_ppm - u};
  if (!(zone.low_ppm <= zone.high_ppm)) return std::nullopt;
  return zone;
}

DecisionZone beyond(const CapturePlan& plan, double u) {
  return {plan.low_ppm - u, plan.high_ppm + u};
}

// What of the reference keeps all from being decided: it is measured as the
// clock is.
std::optional<CaptureLimit> reference_obstacle(const CapturePlan& plan) {
  if (!plan.reference_needs) return std::nullopt;
  if (!is_reference_seen(plan)) return CaptureLimit::kSampleRate;
  // What is said to be needed is rounded up.
  if (plan.duration < *least_for_reference(plan)) {
    return CaptureLimit::kDuration;
  }
  return std::nullopt;
}

// What forbids a pass of every clock, whatever U.
std::optional<CaptureLimit> obstacle(const CapturePlan& plan) {
  if (!plan.pulses.told) return CaptureLimit::kSampleRate;
  if (!(plan.width.cycles >= kFewestToDecide)) return CaptureLimit::kDuration;
  if (plan.alias && plan.alias->always) return CaptureLimit::kAliasing;
  if (plan.too_much_jitter) return CaptureLimit::kJitter;
  return std::nullopt;
}

CaptureLimit larger_part(const CapturePlan& plan) {
  if (plan.capture_U > plan.timebase_U) {
    return plan.width.jitter.value() >= plan.width.half_width.value()
               ? CaptureLimit::kJitter
               : CaptureLimit::kSampling;
  }
  return plan.input.reference_tolerance ? CaptureLimit::kReference
                                        : CaptureLimit::kTimebase;
}

// Before U can be brought down what forbids a pass at any U has to go; of too
// few cycles of the clock cure_by_length() tells.
void drop_cures(CapturePlan& plan, std::optional<CaptureLimit> forbids) {
  if (!forbids) return;
  plan.also_too_large = *forbids != CaptureLimit::kDuration &&
                        !(plan.expanded.value() < half_of_limits(plan));
  plan.cures = {};
}

void judge_plan(CapturePlan& plan) {
  if (plan.pulses.told && plan.input.jitter) {
    plan.uneven = share_uneven(plan, plan.width.cycles, *plan.input.jitter);
  }
  plan.too_much_jitter = plan.uneven > kMostUneven;
  std::optional<CaptureLimit> forbids = obstacle(plan);
  // A rate that shows the reference tells aliases apart too, if it is named;
  // no length shows it.
  if (forbids != CaptureLimit::kSampleRate &&
      (!forbids || plan.fastest_reference)) {
    if (const auto reference = reference_obstacle(plan)) {
      plan.reference_fails = true;
      forbids = reference;
    }
  }
  plan.limited_by = forbids.value_or(larger_part(plan));
  keep_what_helps(plan, forbids);
  drop_cures(plan, forbids);
  const double u = plan.expanded.value();
  if (forbids || !(u > 0.0)) return;
  const double sure = u + plan.at_most.value();
  plan.zones.fails = beyond(plan, u);
  plan.zones.sure_fail = beyond(plan, sure);
  const ClockBand shown = clocks_shown(plan);
  plan.zones.fails_from = shown.low;
  plan.zones.fails_to = shown.high;
  plan.decidable = u < half_of_limits(plan);
  if (!plan.decidable) return;
  plan.zones.passes = within(plan, u);
  // Which of the clocks an alias forbids a pass is not worked out.
  if (plan.alias || plan.uneven > 1.0 - plan.input.coverage) return;
  plan.zones.sure_pass = within(plan, sure);
  plan.zones.likely_pass = within(plan, 2.0 * u);
}

// Of too few cycles nothing is known but what a capture without a length stated
// would ask.
void cure_by_length(CapturePlan& plan) {
  if (plan.limited_by != CaptureLimit::kDuration || plan.reference_fails ||
      !plan.input.duration) {
    return;
  }
  CapturePlanInput any_length = plan.input;
  any_length.duration.reset();
  const CapturePlan longer = plan_capture(any_length);
  plan.cures = {};
  plan.cures.less_jitter = longer.too_much_jitter || longer.cures.less_jitter;
  if (plan.cures.less_jitter || !(longer.duration > plan.duration)) return;
  CaptureCures cures = longer.cures;
  cures.capture_alone = !cures.timebase;
  if (!cures.duration) cures.duration = longer.duration;
  CapturePlanInput cured = plan.input;
  cured.duration = cures.duration;
  if (cures.timebase) {
    Ppm& known = cured.reference_tolerance ? *cured.reference_tolerance
                                           : cured.timebase.tolerance;
    known = *cures.timebase;
  }
  if (plan_capture(cured).decidable) plan.cures = cures;
}

}  // namespace

const char* capture_limit_name(CaptureLimit limit) {
  switch (limit) {
    case CaptureLimit::kTimebase:
      return "timebase";
    case CaptureLimit::kReference:
      return "reference";
    case CaptureLimit::kSampling:
      return "sampling";
    case CaptureLimit::kJitter:
      return "jitter";
    case CaptureLimit::kSampleRate:
      return "sample_rate";
    case CaptureLimit::kAliasing:
      return "aliasing";
    case CaptureLimit::kDuration:
      return "duration";
  }
  return "";
}

CapturePlan plan_capture(const CapturePlanInput& input) {
  CapturePlan plan;
  plan.input = input;
  plan.low_ppm = input.tolerance.low_ppm.to_double();
  plan.high_ppm = input.tolerance.high_ppm.to_double();
  choose_duration(plan);
  add_uncertainty(plan);
  add_reference(plan);
  add_sampling(plan);
  plan.cures = find_cures(plan);
  add_size(plan);
  judge_plan(plan);
  cure_by_length(plan);
  return plan;
}

}  // namespace clockassay
