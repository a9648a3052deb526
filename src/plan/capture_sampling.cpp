// SPDX-License-Identifier: GPL-3.0-or-later
#include "plan/capture_sampling.h"

#include <algorithm>
#include <cmath>

#include "clockassay/estimate/frequency_estimate.h"
#include "plan/capture_jitter.h"
#include "plan/capture_question.h"
#include "verdict/aliasing.h"

namespace clockassay {
namespace {

// Chosen: below this part of the timebase's nobody cares what sampling leaves.
constexpr double kCounts = 0.2;

// Chosen: one sample more than is asked for.
constexpr double kEnoughSamples = kFewestSamplesPerPeriod + 1.0;

// A capture of which nineteen in twenty pulses are one sample long decides
// nothing (docs/measurement-model.md, Narrow pulses); twice as many are asked
// for.
constexpr double kLongPulses = 0.1;

// Of all phases to begin at: chosen, one in a hundred may be unlucky.
constexpr double kUnlucky = 0.01;

// Pulses of a clock that meets the sampler at q phases 1/q apart: of h samples,
// floor(q (h - 1)) of the q are two samples long or more.
bool some_are_long(double pulse, int phases) {
  return phases * (pulse - 1.0) >= 1.0 - kUnlucky;
}

ClockSpec clock_of(const CapturePlan& plan) {
  ClockSpec clock;
  clock.expect = plan.input.expect;
  clock.tolerance.make = plan.input.tolerance;
  return clock;
}

using Aliases = std::vector<AliasCandidate>;

// Candidates for a clock off by `ppm`, seen to within ±wide_ppm through that
// timebase.
Aliases aliases_of(const CapturePlan& plan, const Rational& rate_hz, double ppm,
                   double wide_ppm, const Timebase& timebase) {
  const double f = expected_hz(plan);
  ClockEvidence evidence;
  evidence.timebase = timebase;
  evidence.duration = plan.duration;
  evidence.sample_interval = Seconds(1.0 / rate_hz.to_double());
  evidence.sample_rate_hz = rate_hz;
  evidence.budget.frequency.value = Hertz(f * (1.0 + ppm * kPartsPerMillion));
  evidence.budget.relative_to_timebase.expanded_uncertainty =
      Hertz(wide_ppm * kPartsPerMillion * f);
  return find_aliases(clock_of(plan), {}, evidence);
}

// As whom verify may take the sampler: one whose rate is known to within the
// timebase, or, a reference beside, to within that, wherever it then is.
std::vector<Timebase> samplers(const CapturePlanInput& in) {
  if (!in.reference_tolerance) return {in.timebase};
  std::vector<Timebase> any;
  for (const double side : {0.0, -1.0, 1.0}) {
    Timebase one = in.timebase;
    one.offset = one.offset + side * one.tolerance;
    one.tolerance = *in.reference_tolerance;
    any.push_back(one);
  }
  return any;
}

// One and the same looks like every clock within the limits, whatever the
// sampler is off by.
std::optional<AliasCandidate> always_alias(const CapturePlan& plan,
                                           const Rational& rate_hz,
                                           const Aliases& nominal) {
  Aliases left = nominal;
  for (const Timebase& timebase : samplers(plan.input)) {
    for (const double ppm : {0.0, plan.low_ppm, plan.high_ppm}) {
      const Aliases there = aliases_of(plan, rate_hz, ppm, 0.0, timebase);
      const auto is_gone = [&there](const AliasCandidate& c) {
        return std::none_of(
            there.begin(), there.end(),
            [&c](const AliasCandidate& other) { return other.who == c.who; });
      };
      left.erase(std::remove_if(left.begin(), left.end(), is_gone), left.end());
      if (left.empty()) return std::nullopt;
    }
  }
  return left.front();
}

bool shows_reference(const CapturePlan& plan, double rate) {
  const auto& f = plan.input.reference_hz;
  return !f || rate >= kEnoughSamples * f->to_double();
}

std::optional<AliasDanger> find_danger(const CapturePlan& plan,
                                       const Rational& rate_hz) {
  const Timebase& timebase = plan.input.timebase;
  const double capture = plan.width.half_width.value();
  const double seen_to = std::isfinite(capture) ? capture : 0.0;
  const double off = std::max(std::abs(plan.low_ppm), std::abs(plan.high_ppm)) +
                     timebase.tolerance.value();
  const Aliases any = aliases_of(plan, rate_hz, 0.0, seen_to + off, timebase);
  if (any.empty()) return std::nullopt;
  const Aliases nominal = aliases_of(plan, rate_hz, 0.0, 0.0, timebase);
  const auto always = always_alias(plan, rate_hz, nominal);
  // One that fits the expected frequency itself goes before.
  const AliasCandidate& c = always            ? *always
                            : nominal.empty() ? any.front()
                                              : nominal.front();
  AliasDanger danger{c.who, c.true_hz, c.alias.frequency_hz, always.has_value(),
                     c.second_rate_hz};
  if (danger.telling_rate_hz &&
      !shows_reference(plan, danger.telling_rate_hz->to_double())) {
    danger.telling_rate_hz.reset();
  }
  return danger;
}

bool is_enough(const CapturePlan& plan, const Rational& rate_hz) {
  if (!sample_pulses(plan, rate_hz.to_double()).told) return false;
  if (!shows_reference(plan, rate_hz.to_double())) return false;
  const auto danger = find_danger(plan, rate_hz);
  return !danger || !danger->always;
}

// That from which on all usual rates are enough goes before one that is; a
// faster one before one that is slower than this.
void name_needed_rate(CapturePlan& plan) {
  // A half of a sample and a little more, and no fewer than four a period.
  double least =
      expected_hz(plan) *
      std::max(kEnoughSamples, (1.0 + kLongPulses) / shorter_half(plan.input));
  if (const auto& f = plan.input.reference_hz) {
    least = std::max(least, kEnoughSamples * f->to_double());
  }
  const std::vector<Rational> rates = usual_sample_rates(least, 10.0 * least);
  std::optional<Rational> slower;
  std::optional<Rational> any;
  std::optional<Rational> from;
  for (const Rational& rate : rates) {
    const bool is_faster = rate > plan.input.sample_rate_hz;
    if (!is_enough(plan, rate)) {
      from.reset();
    } else if (!is_faster) {
      if (!slower) slower = rate;
    } else {
      if (!from) from = rate;
      if (!any) any = rate;
    }
  }
  plan.needed_or_faster = from.has_value();
  plan.needed_rate_hz = from ? from : any ? any : slower;
}

// Behind a divider by two a clock is high for half of its period.
void name_needed_divider(CapturePlan& plan) {
  constexpr int kLargest = 1 << 20;  // chosen: no clock output divides by more
  CapturePlan divided = plan;
  divided.input.duty = DutyRange{};
  const double least = kEnoughSamples * expected_hz(plan) / sample_rate(plan);
  for (int by = 2; by <= kLargest; by *= 2) {
    const auto f = divide(plan.input.expect.frequency_hz, Rational(by));
    if (!f) return;
    divided.input.expect.frequency_hz = *f;
    if (by < least || !sample_pulses(divided, sample_rate(plan)).told) continue;
    plan.needed_divider = by;
    return;
  }
}

// What the capture leaves at that rate, at the coverage, a reference beside.
Ppm left_at(const CapturePlan& plan, double rate) {
  const double sigma = capture_sigma(
      plan, rate, plan.duration, plan.input.reference_tolerance.has_value());
  return Ppm(expanded_of(0.0, sigma, plan.input.coverage));
}

// A rate about as fast that halves what sampling leaves, of the clock and of
// the reference together.
void add_better_rate(CapturePlan& plan) {
  const bool counts =
      plan.width.sampling.value() >= plan.width.half_width.value() &&
      plan.capture_U.value() > kCounts * plan.timebase_U.value();
  if (!counts || !std::isfinite(plan.width.half_width.value())) return;
  const double now = sample_rate(plan);
  // Chosen: what an instrument of that rate may do as well.
  const double slowest =
      std::max(0.5 * now, kEnoughSamples * expected_hz(plan));
  Ppm best = 0.5 * plan.capture_U;
  for (const Rational& rate : usual_sample_rates(slowest, 1.3 * now)) {
    const Ppm left = left_at(plan, rate.to_double());
    if (!(left <= best) || !is_enough(plan, rate)) continue;
    best = left;
    plan.better_rate_hz = rate;
    plan.better_U = left;
  }
  if (plan.better_rate_hz || !plan.few_phases) return;
  // A reference that may lock stays: no rate is even for both.
  if (plan.input.reference_tolerance) return;
  plan.even_rate = plan.few_phases->better_rate;
}

void add_where_seen(CapturePlan& plan) {
  if (plan.samples_per_period >= 2.0) return;
  const auto seen =
      alias_of(plan.input.expect.frequency_hz, plan.input.sample_rate_hz);
  if (seen) plan.seen_hz = seen->frequency_hz;
}

}  // namespace

double shorter_half(const CapturePlanInput& input) {
  const DutyRange duty = input.duty.value_or(DutyRange{});
  return std::min(duty.low, 1.0 - duty.high);
}

PulseSampling sample_pulses(const CapturePlan& plan, double rate) {
  const CaptureSetting band =
      clocks_within(plan, 1.0, (plan.expanded + plan.at_most).value());
  const double low = rate / band.high.value();
  const double high = rate / band.low.value();
  const double half = shorter_half(plan.input);
  PulseSampling sampling;
  sampling.samples_per_period = low;
  sampling.shorter_half = half * low;
  sampling.told = low > kFewestSamplesPerPeriod &&
                  sampling.shorter_half >= 1.0 + kLongPulses;
  // At many phases as many pulses are long as the half is longer than a sample.
  constexpr int kManyPhases = static_cast<int>(1.0 / kLongPulses);
  const double near = plan.width.cycles > 0.0 ? 1.0 / plan.width.cycles : 1.0;
  for (int q = 1; q <= kManyPhases && sampling.told; ++q) {
    const double p = std::ceil(q * (low - near));
    if (p > q * (high + near)) continue;
    sampling.told = some_are_long(half * std::max(p / q, low), q);
  }
  return sampling;
}

ClockBand clocks_shown(const CapturePlan& plan) {
  // Pulses of two samples show at every phase, periods of four however the
  // timebase is off.
  const double samples =
      std::max(kEnoughSamples, 2.0 / shorter_half(plan.input));
  return {Hertz(two_digits_up((kFewestToDecide + 1.0) / plan.duration.value())),
          Hertz(two_digits_down(sample_rate(plan) / samples))};
}

bool is_reference_seen(const CapturePlan& plan) {
  if (!plan.input.reference_hz) return true;
  const double f = plan.input.reference_hz->to_double();
  const double fastest =
      f * (1.0 + plan.input.timebase.tolerance.value() * kPartsPerMillion);
  return sample_rate(plan) > kFewestSamplesPerPeriod * fastest;
}

void add_sampling(CapturePlan& plan) {
  const double rate = sample_rate(plan);
  plan.samples_per_period = rate / expected_hz(plan);
  plan.duty_by_one = 2.0 / plan.samples_per_period;
  plan.duty_by_mean = 1.0 / plan.samples_per_period;
  plan.pulses = sample_pulses(plan, rate);
  plan.most_jitter = most_jitter(plan, plan.width.cycles);
  add_where_seen(plan);
  if (!plan.pulses.told) {
    name_needed_rate(plan);
    name_needed_divider(plan);
    return;
  }
  const double indicated = indicated_hz(plan);
  plan.few_phases = find_few_phases(rate / indicated, plan.width.cycles,
                                    Seconds(plan.width.cycles / indicated));
  plan.alias = find_danger(plan, plan.input.sample_rate_hz);
  const bool is_seen = is_reference_seen(plan);
  if (!is_seen) {
    plan.fastest_reference = Hertz(two_digits_down(rate / kEnoughSamples));
  }
  if (!is_seen || (plan.alias && plan.alias->always)) {
    name_needed_rate(plan);
    return;
  }
  add_better_rate(plan);
}

}  // namespace clockassay
