// SPDX-License-Identifier: GPL-3.0-or-later
#include "support/coverage_trial.h"

#include <algorithm>
#include <cstdio>
#include <cstdlib>

#include "clockassay/estimate/clock_estimate.h"

namespace clockassay {

CoverageTrial coverage_trial(const PeriodKind& kind, std::size_t cycles,
                             double duty, double sigma, std::mt19937_64& random,
                             std::span<const double> wander) {
  std::uniform_real_distribution<double> uniform(-1.0, 1.0);
  CoverageTrial t;
  t.period = kind.base * (1.0 + kind.spread * uniform(random));
  t.edges = sample_edges(t.period, duty, sigma, cycles, random, wander);
  const TestStretch s = stretch_from_edges(t.edges.rises, t.edges.falls, 2048);
  TickScale one_sample_a_tick;
  one_sample_a_tick.sample_ticks = Rational(1);
  const auto clock =
      estimate_clock(EdgeView(s.stretch), one_sample_a_tick, serial_for);
  if (!clock) {
    std::fprintf(stderr, "no estimate: %s\n", clock.error().message.c_str());
    std::exit(1);
  }
  const FrequencyEstimate& f = clock->frequency;
  const double truth = 1.0 / t.period;
  t.error = (f.frequency.value() - truth) * t.period * t.period;
  t.half_width = f.half_width.value() * t.period * t.period;
  const auto warned_of = [&](WarningCode code) {
    return std::any_of(clock->warnings.begin(), clock->warnings.end(),
                       [&](const Warning& w) { return w.code == code; });
  };
  t.warned_of_wander = warned_of(WarningCode::kWander);
  t.warned_of_duty = warned_of(WarningCode::kDutyMoves);
  const auto samples = [](const std::optional<Seconds>& time) {
    return time ? std::optional(time->value()) : std::nullopt;  // of 1 s each
  };
  t.jitter = {samples(clock->jitter.edge_rms),
              0.5 * samples(clock->jitter.edge_rms_uncertainty).value_or(0.0),
              samples(clock->jitter.upper_limit)};
  t.has_set = f.bound_low.has_value();
  t.outside = t.has_set &&
              (truth < f.bound_low->value() || truth > f.bound_high->value());
  return t;
}

}  // namespace clockassay
