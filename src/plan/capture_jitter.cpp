// SPDX-License-Identifier: GPL-3.0-or-later
#include "plan/capture_jitter.h"

#include <algorithm>
#include <cmath>
#include <numbers>

#include "clockassay/estimate/seen_length.h"
#include "plan/capture_question.h"
#include "plan/capture_sampling.h"

namespace clockassay {
namespace {

// Periods off by more are taken for uneven ones: a quarter, or two windows of
// an edge where that is more (docs/measurement-model.md).
constexpr double kUnevenPeriod = 0.25;
constexpr double kUnevenSamples = 2.0;
constexpr double kNeverEven = 0.45;

// Of one period and its pulses [samples], edges of rms jitter sigma.
double chance_of_one(double period, double half, double sigma) {
  const double s = std::numbers::sqrt2 * sigma;
  const double uneven = std::max(kUnevenPeriod * period,
                                 std::min(kUnevenSamples, kNeverEven * period));
  const double above = std::floor(period + uneven) + 1.0 - period;
  const double below = period - (std::ceil(period - uneven) - 1.0);
  // A pulse of which no sample is seen.
  return chance_seen_off(above, s) + chance_seen_off(below, s) +
         chance_seen_off(half, s);
}

double share_at(const CapturePlan& plan, double rate, double cycles,
                Seconds jitter) {
  const double sigma = jitter.value() * rate;
  const double half = shorter_half(plan.input);
  const CaptureSetting band = clocks_within(plan, 1.0, 0.0);
  double chance = 0.0;
  for (const Hertz f : {band.low, band.high}) {
    const double period = rate / f.value();
    chance = std::max(chance, chance_of_one(period, half * period, sigma));
  }
  return -std::expm1(std::max(1.0, cycles) *
                     std::log1p(-std::min(chance, 1.0 - 1e-9)));
}

}  // namespace

double share_uneven(const CapturePlan& plan, double cycles, Seconds jitter) {
  return share_at(plan, sample_rate(plan), cycles, jitter);
}

bool jitter_spoils(const CapturePlan& plan, double rate, Seconds time) {
  const std::optional<Seconds>& jitter = plan.input.jitter;
  return jitter && share_at(plan, rate, width_at(plan, rate, time).cycles,
                            *jitter) > kMostUneven;
}

Seconds most_jitter(const CapturePlan& plan, double cycles) {
  const double allowed = 1.0 - plan.input.coverage;
  const double period = 1.0 / expected_hz(plan);
  double low = 1e-6 * period;
  double high = period;
  if (share_uneven(plan, cycles, Seconds(low)) > allowed) return Seconds(0.0);
  // To a thousandth.
  while (high > 1.001 * low) {
    const double middle = std::sqrt(low * high);
    const bool more = share_uneven(plan, cycles, Seconds(middle)) > allowed;
    (more ? high : low) = middle;
  }
  return Seconds(low);
}

}  // namespace clockassay
