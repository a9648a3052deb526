// SPDX-License-Identifier: GPL-3.0-or-later
#include "support/spectrum_trial.h"

#include <cmath>
#include <vector>

#include "clockassay/estimate/clock_estimate.h"
#include "clockassay/estimate/edge_line.h"

namespace clockassay {

TestStretch sample_clock(const SpectrumTrial& trial, std::mt19937_64& random) {
  std::vector<double> moved;
  if (trial.moved) {
    for (std::size_t k = 0; k <= trial.cycles; ++k) {
      const double t = static_cast<double>(k) * trial.period;
      moved.push_back(trial.moved(t));
      moved.push_back(trial.moved(t + 0.5 * trial.period));
    }
  }
  SampledEdges edges =
      sample_edges(trial.period, 0.5, trial.sigma, trial.cycles, random, moved);
  if (trial.steps_a_sample) {
    const double steps = trial.steps_a_sample->to_double();
    for (auto* list : {&edges.rises, &edges.falls}) {
      for (std::int64_t& n : *list) {
        n = std::llround(static_cast<double>(n) * steps);
      }
    }
  }
  return stretch_from_edges(edges.rises, edges.falls, 2048);
}

namespace {

TieSpectrumInput one_tick_a_sample(double period, double uncertainty,
                                   double sample_s) {
  TieSpectrumInput input;
  input.period_ticks = period;
  input.period_uncertainty_ticks = uncertainty;
  input.tick_s = sample_s;
  input.window_ticks = 1.0;
  input.sample_ticks = 1.0;
  return input;
}

Result<TieSpectrum> spectrum_in(const EdgeView& view, const TickScale& scale,
                                double tick_s,
                                const TieSpectrumOptions& options,
                                const ParallelFor& parallel_for) {
  const auto clock = estimate_clock(view, scale, parallel_for);
  if (!clock) return tl::unexpected(clock.error());
  const FrequencyEstimate& f = clock->frequency;
  const double period = clock->period_ticks;
  TieSpectrumInput input = one_tick_a_sample(
      period, 0.5 * f.half_width / f.frequency * period, tick_s);
  input.window_ticks = scale.window_ticks.to_double();
  input.sample_ticks.reset();
  if (scale.sample_ticks) input.sample_ticks = scale.sample_ticks->to_double();
  return tie_spectrum(view, input, options, parallel_for);
}

}  // namespace

Result<TieSpectrum> spectrum_of(const EdgeView& view, double sample_s,
                                const TieSpectrumOptions& options,
                                const ParallelFor& parallel_for) {
  TickScale scale;
  scale.sample_ticks = Rational(1);
  return spectrum_in(view, scale, sample_s, options, parallel_for);
}

Result<TieSpectrum> spectrum_of_unknown(const EdgeView& view, double sample_s) {
  return spectrum_in(view, TickScale(), sample_s, {}, serial_for);
}

Result<TieSpectrum> spectrum_of_text(const EdgeView& view, double sample_s,
                                     const Rational& steps_a_sample) {
  TickScale scale;
  scale.window_ticks = add(steps_a_sample, Rational(1)).value();
  scale.sample_ticks = steps_a_sample;
  return spectrum_in(view, scale, sample_s / steps_a_sample.to_double(), {},
                     serial_for);
}

Result<TieSpectrum> spectrum_about_line(const EdgeView& view, double sample_s,
                                        const TieSpectrumOptions& options) {
  const auto sums = sum_edges(view, serial_for);
  if (!sums) return tl::unexpected(sums.error());
  const auto line = fit_line(sums->rise, LineSums{});
  if (!line) return tl::unexpected(line.error());
  const auto n = static_cast<double>(sums->rise.n);
  const double period = static_cast<double>(sums->frame.period) + line->slope;
  return tie_spectrum(
      view,
      one_tick_a_sample(
          period, std::sqrt(12.0 * line->residual_squares / n / (n * n * n)),
          sample_s),
      options, serial_for);
}

}  // namespace clockassay
