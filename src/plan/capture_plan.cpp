// SPDX-License-Identifier: GPL-3.0-or-later
#include "clockassay/plan/capture_plan.h"

#include <algorithm>
#include <cmath>

#include "clockassay/estimate/frequency_estimate.h"
#include "clockassay/estimate/student_t.h"
#include "clockassay/uncertainty/error_distribution.h"
#include "verdict/advice.h"
#include "verdict/aliasing.h"

namespace clockassay {
namespace {

constexpr double kPpm = 1e-6;

// Chosen: with a tenth of the limits left to the capture it hardly counts.
constexpr double kCaptureShare = 0.1;

// Chosen: below five nothing passes; a few more for edges that are lost.
constexpr double kFewestCycles = 10.0;
constexpr double kFewestToDecide = 5.0;

// Chosen: below this part of the timebase's nobody cares what sampling leaves.
constexpr double kCounts = 0.2;

double half_of_limits(const CapturePlan& plan) {
  return 0.5 * (plan.high_ppm - plan.low_ppm);
}

double rectangle_of(const CapturePlanInput& input) {
  return input.reference_tolerance ? input.reference_tolerance->value()
                                   : input.timebase.tolerance.value();
}

double expanded(double rectangle, double sigma, double coverage) {
  const ErrorDistribution d{rectangle, sigma};
  return is_proper(d) ? expanded_half_width(d, coverage) : 0.0;
}

// Half-widths of estimates are at 95 %.
double sigma_of(Ppm half_width) {
  return half_width.value() /
         student_t_two_sided(kHalfWidthCoverage, std::nullopt);
}

double sample_rate(const CapturePlan& plan) {
  return plan.input.sample_rate_hz.to_double();
}

double expected_hz(const CapturePlan& plan) {
  return plan.input.expect.frequency_hz.to_double();
}

double sigma_samples(const CapturePlan& plan) {
  return plan.input.jitter ? plan.input.jitter->value() * sample_rate(plan)
                           : 0.0;
}

// The expected clock as the instrument's own time shows it.
double indicated_hz(const CapturePlan& plan) {
  return expected_hz(plan) / (1.0 + plan.input.timebase.offset.value() * kPpm);
}

// Of clocks off by up to twice what they are allowed, by the instrument's time.
CaptureSetting setting_of(const CapturePlan& plan, double rate, Seconds time) {
  const double f = indicated_hz(plan);
  const double a = plan.input.timebase.tolerance.value();
  const double down = (2.0 * std::min(0.0, plan.low_ppm) - a) * kPpm;
  const double up = (2.0 * std::max(0.0, plan.high_ppm) + a) * kPpm;
  CaptureSetting setting;
  // Of a tolerance of half the frequency and more no clock at all is left.
  setting.low = Hertz(f * std::max(0.01, 1.0 + down));
  setting.high = Hertz(f * (1.0 + up));
  setting.sample_rate = Hertz(rate);
  setting.duration = time;
  setting.jitter = plan.input.jitter.value_or(Seconds(0.0));
  return setting;
}

// Normal part of U: the capture's, and a reference's as the sampler may meet
// it at worst.
double capture_sigma(const CapturePlan& plan) {
  const double clock = sigma_of(plan.width.half_width);
  if (!plan.input.reference_tolerance) return clock;
  const double worst = 1e6 / (sample_rate(plan) * plan.duration.value());
  return std::hypot(clock, std::max(sigma_of(Ppm(worst)), clock));
}

double rounded_up(double value) {
  const double unit = std::pow(10.0, std::floor(std::log10(value)) - 1.0);
  // Not for a rounding error on top of a round figure.
  constexpr double kSlack = 1.0 - 1e-9;
  return std::ceil(value / unit * kSlack) * unit;
}

// How long a capture leaves no more than that, whatever the clock locks to.
Seconds duration_for(const CapturePlan& plan, double width_ppm) {
  const double f = expected_hz(plan);
  // A reference beside takes as much again.
  const double own =
      plan.input.reference_tolerance ? width_ppm / std::sqrt(2.0) : width_ppm;
  const double cycles = std::max(
      kFewestCycles,
      cycles_for_width(Ppm(own), sample_rate(plan) / f, sigma_samples(plan)));
  // What the ends lose: a cycle each, and the band's slow end.
  const double slow =
      setting_of(plan, sample_rate(plan), Seconds(1)).low / Hertz(f);
  return Seconds(rounded_up((cycles + 2.0) / (f * slow)));
}

// What U leaves to the capture, as a 95 % half-width; absent: nothing.
std::optional<double> room_for_capture(const CapturePlan& plan) {
  const auto sigma = sufficient_normal(
      rectangle_of(plan.input), plan.input.coverage, half_of_limits(plan));
  if (!sigma) return std::nullopt;
  return *sigma * student_t_two_sided(kHalfWidthCoverage, std::nullopt);
}

void choose_duration(CapturePlan& plan) {
  const std::optional<double> room = room_for_capture(plan);
  if (room) plan.shortest = duration_for(plan, *room);
  const double share = kCaptureShare * half_of_limits(plan);
  const double wanted = room ? std::min(share, 0.5 * *room) : share;
  plan.duration = plan.input.duration.value_or(duration_for(plan, wanted));
}

void add_uncertainty(CapturePlan& plan) {
  plan.width =
      foresee_width(setting_of(plan, sample_rate(plan), plan.duration));
  const double a = rectangle_of(plan.input);
  const double coverage = plan.input.coverage;
  plan.timebase_U = Ppm(expanded(a, 0.0, coverage));
  if (!std::isfinite(plan.width.half_width.value())) return;
  const double s = capture_sigma(plan);
  plan.capture_U = Ppm(expanded(0.0, s, coverage));
  plan.expanded = Ppm(expanded(a, s, coverage));
}

MeasuredError middle_of_limits(const CapturePlan& plan) {
  MeasuredError error;
  error.ppm = 0.5 * (plan.low_ppm + plan.high_ppm);
  error.expanded_ppm = plan.expanded.value();
  error.distribution = {rectangle_of(plan.input), capture_sigma(plan)};
  error.coverage = plan.input.coverage;
  return error;
}

ClockEvidence evidence_for(const CapturePlan& plan, double U_hz) {
  ClockEvidence evidence;
  evidence.timebase = plan.input.timebase;
  evidence.duration = plan.duration;
  evidence.sample_interval = Seconds(1.0 / sample_rate(plan));
  evidence.sample_rate_hz = plan.input.sample_rate_hz;
  evidence.budget.frequency.value = Hertz(expected_hz(plan));
  evidence.budget.relative_to_timebase.expanded_uncertainty = Hertz(U_hz);
  return evidence;
}

void add_cures(CapturePlan& plan) {
  const ToDecide numbers =
      numbers_to_decide(middle_of_limits(plan), plan.low_ppm, plan.high_ppm,
                        evidence_for(plan, 0.0));
  plan.cures = {numbers.timebase, numbers.calibration, numbers.reference};
}

ClockSpec clock_of(const CapturePlan& plan) {
  ClockSpec clock;
  clock.expect = plan.input.expect;
  clock.tolerance.make = plan.input.tolerance;
  return clock;
}

void add_alias(CapturePlan& plan) {
  const ClockSpec clock = clock_of(plan);
  const double f = expected_hz(plan);
  const auto of = [&](double wide_ppm) {
    return find_aliases(clock, {}, evidence_for(plan, wide_ppm * kPpm * f));
  };
  const double capture = plan.width.half_width.value();
  const double off = std::max(std::abs(plan.low_ppm), std::abs(plan.high_ppm)) +
                     plan.input.timebase.tolerance.value();
  const auto found = of(std::isfinite(capture) ? capture + off : off);
  if (found.empty()) return;
  // One that fits the expected frequency itself goes before.
  const auto at_nominal = of(0.0);
  const AliasCandidate& c =
      at_nominal.empty() ? found.front() : at_nominal.front();
  plan.alias = {c.who, c.true_hz, c.alias.frequency_hz, !at_nominal.empty(),
                c.second_rate_hz};
}

void add_sampling(CapturePlan& plan) {
  const double f = expected_hz(plan);
  plan.samples_per_period = sample_rate(plan) / f;
  plan.duty_by_one = 2.0 / plan.samples_per_period;
  plan.duty_by_mean = 1.0 / plan.samples_per_period;
  if (plan.samples_per_period < 2.0) {
    const auto seen =
        alias_of(plan.input.expect.frequency_hz, plan.input.sample_rate_hz);
    if (seen) plan.seen_hz = seen->frequency_hz;
  }
  if (plan.samples_per_period < kFewestSamplesPerPeriod) {
    // Chosen: one sample more than is asked for.
    const double enough = (kFewestSamplesPerPeriod + 1.0) * f;
    const auto rates = usual_sample_rates(enough, 10.0 * enough);
    if (!rates.empty()) plan.needed_rate_hz = rates.front();
    return;
  }
  const double indicated = indicated_hz(plan);
  plan.few_phases =
      find_few_phases(sample_rate(plan) / indicated, plan.width.cycles,
                      Seconds(plan.width.cycles / indicated));
  add_alias(plan);
}

// A rate about as fast that halves what sampling leaves.
void add_better_rate(CapturePlan& plan) {
  const bool counts =
      plan.width.sampling.value() >= plan.width.half_width.value() &&
      plan.capture_U.value() > kCounts * plan.timebase_U.value();
  if (!counts || plan.samples_per_period < kFewestSamplesPerPeriod) return;
  const double now = sample_rate(plan);
  // Chosen: what an instrument of that rate may do as well.
  const double slowest =
      std::max(0.5 * now, (kFewestSamplesPerPeriod + 1.0) * expected_hz(plan));
  double best = 0.5 * plan.width.half_width.value();
  for (const Rational& rate : usual_sample_rates(slowest, 1.3 * now)) {
    const Ppm width =
        foresee_width(setting_of(plan, rate.to_double(), plan.duration))
            .half_width;
    if (!(width.value() <= best)) continue;
    best = width.value();
    plan.better_rate_hz = rate;
    plan.better_half_width = width;
  }
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

void judge_plan(CapturePlan& plan) {
  if (plan.samples_per_period < kFewestSamplesPerPeriod) {
    plan.limited_by = CaptureLimit::kSampleRate;
    return;
  }
  if (!(plan.width.cycles >= kFewestToDecide)) {
    plan.limited_by = CaptureLimit::kDuration;
    return;
  }
  if (plan.alias && plan.alias->always) {
    plan.limited_by = CaptureLimit::kAliasing;
    return;
  }
  const CaptureLimit own =
      plan.width.jitter.value() >= plan.width.half_width.value()
          ? CaptureLimit::kJitter
          : CaptureLimit::kSampling;
  const CaptureLimit other = plan.input.reference_tolerance
                                 ? CaptureLimit::kReference
                                 : CaptureLimit::kTimebase;
  plan.limited_by = plan.capture_U > plan.timebase_U ? own : other;
  plan.decidable = plan.expanded.value() < half_of_limits(plan);
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

std::optional<DecisionZone> passing_zone(const CapturePlan& plan, double u) {
  const DecisionZone zone{plan.low_ppm + u, plan.high_ppm - u};
  if (!plan.decidable || !(zone.low_ppm <= zone.high_ppm)) return std::nullopt;
  return zone;
}

DecisionZone failing_beyond(const CapturePlan& plan, double u) {
  return {plan.low_ppm - u, plan.high_ppm + u};
}

CapturePlan plan_capture(const CapturePlanInput& input) {
  CapturePlan plan;
  plan.input = input;
  plan.low_ppm = input.tolerance.low_ppm.to_double();
  plan.high_ppm = input.tolerance.high_ppm.to_double();
  choose_duration(plan);
  add_uncertainty(plan);
  add_sampling(plan);
  if (std::isfinite(plan.width.half_width.value())) {
    add_cures(plan);
    add_better_rate(plan);
  }
  add_size(plan);
  judge_plan(plan);
  return plan;
}

}  // namespace clockassay
