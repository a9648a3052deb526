// SPDX-License-Identifier: GPL-3.0-or-later
#include "plan/capture_question.h"

#include <algorithm>
#include <cmath>

#include "clockassay/estimate/frequency_estimate.h"
#include "clockassay/estimate/student_t.h"
#include "clockassay/uncertainty/error_distribution.h"

namespace clockassay {
namespace {

// Chosen: below five nothing passes; a few more for edges that are lost.
constexpr double kFewestCycles = 10.0;

double normal_factor() {
  return student_t_two_sided(kHalfWidthCoverage, std::nullopt);
}

double digit(double value) {
  return std::pow(10.0, std::floor(std::log10(value)) - 1.0);
}

// What the ends lose: a cycle each, and the band's slow end.
Seconds room_for_cycles(const CapturePlan& plan, double cycles) {
  const double slowest = clocks_within(plan, 2.0, 0.0).low.value();
  return Seconds(two_digits_up((cycles + 2.0) / slowest));
}

}  // namespace

double half_of_limits(const CapturePlan& plan) {
  return 0.5 * (plan.high_ppm - plan.low_ppm);
}

double rectangle_of(const CapturePlanInput& input) {
  return input.reference_tolerance ? input.reference_tolerance->value()
                                   : input.timebase.tolerance.value();
}

double expanded_of(double rectangle, double sigma, double coverage) {
  const ErrorDistribution d{rectangle, sigma};
  return is_proper(d) ? expanded_half_width(d, coverage) : 0.0;
}

double sigma_of(Ppm half_width) {
  return half_width.value() / normal_factor();
}

Ppm half_width_of(double sigma) {
  return Ppm(sigma * normal_factor());
}

double sample_rate(const CapturePlan& plan) {
  return plan.input.sample_rate_hz.to_double();
}

double expected_hz(const CapturePlan& plan) {
  return plan.input.expect.frequency_hz.to_double();
}

double indicated_hz(const CapturePlan& plan) {
  return expected_hz(plan) /
         (1.0 + plan.input.timebase.offset.value() * kPartsPerMillion);
}

CaptureSetting clocks_within(const CapturePlan& plan, double times,
                             double u_ppm) {
  const double f = indicated_hz(plan);
  const double a = plan.input.timebase.tolerance.value() + u_ppm;
  const double down =
      (times * std::min(0.0, plan.low_ppm) - a) * kPartsPerMillion;
  const double up =
      (times * std::max(0.0, plan.high_ppm) + a) * kPartsPerMillion;
  CaptureSetting setting;
  // Of a tolerance of half the frequency and more no clock at all is left.
  setting.low = Hertz(f * std::max(0.01, 1.0 + down));
  setting.high = Hertz(f * (1.0 + up));
  setting.jitter = plan.input.jitter.value_or(Seconds(0.0));
  return setting;
}

CaptureWidth width_at(const CapturePlan& plan, double rate, Seconds time) {
  CaptureSetting setting = clocks_within(plan, 2.0, 0.0);
  setting.sample_rate = Hertz(rate);
  setting.duration = time;
  return foresee_width(setting);
}

double capture_sigma(const CapturePlan& plan, double rate, Seconds time,
                     bool reference) {
  const double clock = sigma_of(width_at(plan, rate, time).half_width);
  if (!reference) return clock;
  double whole = time.value();
  if (plan.input.reference_hz) {
    // From its first edge to its last.
    const double f = plan.input.reference_hz->to_double();
    whole = std::max(1.0, std::floor(whole * f) - 1.0) / f;
  }
  const double worst = 1.0 / (kPartsPerMillion * rate * whole);
  return std::hypot(clock, std::max(sigma_of(Ppm(worst)), clock));
}

std::optional<Seconds> least_for_reference(const CapturePlan& plan) {
  if (!plan.input.reference_hz) return std::nullopt;
  // Whole cycles from edge to edge, and one for the ends, by an instrument that
  // may be off.
  const double slowest =
      plan.input.reference_hz->to_double() *
      (1.0 - plan.input.timebase.tolerance.value() * kPartsPerMillion);
  return Seconds((kFewestToDecide + 1.0) / slowest);
}

std::optional<Seconds> reference_needs(const CapturePlan& plan) {
  const auto least = least_for_reference(plan);
  if (!least) return std::nullopt;
  return Seconds(two_digits_up(least->value()));
}

Seconds safe_duration(const CapturePlan& plan, double width_ppm) {
  const double rate = sample_rate(plan);
  // A reference beside takes as much again.
  const double own =
      plan.input.reference_tolerance ? width_ppm / std::sqrt(2.0) : width_ppm;
  const double sigma = plan.input.jitter.value_or(Seconds(0.0)).value() * rate;
  const double cycles =
      cycles_for_width(Ppm(own), rate / expected_hz(plan), sigma);
  const Seconds clock = room_for_cycles(plan, std::max(kFewestCycles, cycles));
  const auto reference = reference_needs(plan);
  if (!reference) return clock;
  // A cycle of it at the ends is lost to the reference.
  const double lost = 2.0 / plan.input.reference_hz->to_double();
  return std::max(*reference, Seconds(two_digits_up(clock.value() + lost)));
}

Seconds duration_by_width(const CapturePlan& plan, double width_ppm) {
  const bool reference = plan.input.reference_tolerance.has_value();
  const double rate = sample_rate(plan);
  const double allowed = sigma_of(Ppm(width_ppm));
  const auto fits = [&](double time) {
    return capture_sigma(plan, rate, Seconds(time), reference) <= allowed;
  };
  const double safe = safe_duration(plan, width_ppm).value();
  double high = safe;
  const double low_cycles = room_for_cycles(plan, kFewestCycles).value();
  double low =
      std::max(low_cycles, reference_needs(plan).value_or(Seconds(0)).value());
  if (fits(low)) return Seconds(low);
  // To a hundredth, which two digits are rounded up to anyway.
  while (high > 1.01 * low) {
    const double middle = std::sqrt(low * high);
    (fits(middle) ? high : low) = middle;
  }
  // A phase more or less may come of the rounding.
  const double rounded = two_digits_up(high);
  return Seconds(rounded < safe && fits(rounded) ? rounded : safe);
}

double two_digits_up(double value) {
  const double unit = digit(value);
  // Not for a rounding error on top of a round figure.
  constexpr double kSlack = 1.0 - 1e-9;
  return std::ceil(value / unit * kSlack) * unit;
}

double two_digits_down(double value) {
  const double unit = digit(value);
  return std::floor(value / unit) * unit;
}

}  // namespace clockassay
