// SPDX-License-Identifier: GPL-3.0-or-later
#include "support/character_trial.h"

#include <cmath>
#include <cstdint>
#include <numbers>
#include <vector>

#include "clockassay/estimate/edge_line.h"
#include "clockassay/estimate/time_interval_error.h"
#include "support/power_law_noise.h"
#include "support/spectrum_trial.h"

namespace clockassay {
namespace {

constexpr double kFrequency = 24e6;
constexpr double kSpreadRate = 31e3;
constexpr double kSpurFrequency = 100e3;
constexpr double kEdgeJitter = 10e-12;

/// From -1 to 1 and back, once a turn.
double triangle(double turns) {
  const double u = turns - std::floor(turns);
  return u < 0.5 ? 4.0 * u - 1.0 : 3.0 - 4.0 * u;
}

/// How much later than those of a steady clock the edges come, rising and
/// falling in turn [s].
std::vector<double> moved(const ClockSource& source, std::size_t edges,
                          std::mt19937_64& random) {
  std::vector<double> x(edges);
  std::normal_distribution<double> normal;
  // Flicker of the frequency is flicker phase noise, summed.
  const std::vector<double> flicker =
      power_law_noise(PowerLaw::kFlickerPhase, edges, source.walk, random);
  const double half = 0.5 / kFrequency;
  // Of a sinusoid of the phase a sideband has a quarter of its square.
  const double spur = source.spur_dbc < 0.0
                          ? std::pow(10.0, source.spur_dbc / 20.0) /
                                (std::numbers::pi * kFrequency)
                          : 0.0;
  double late = 0.0;
  for (std::size_t i = 0; i < edges; ++i) {
    const double t = static_cast<double>(i) * half;
    const double u = static_cast<double>(i) / static_cast<double>(edges);
    const double faster =
        flicker[i] + source.drift * (u - 0.5) +
        0.5 * source.slow *
            std::sin(2.0 * std::numbers::pi * source.slow_turns * u) +
        0.5 * source.spread * triangle(t * kSpreadRate) +
        // A half period has half of a period's variance, so relative to it
        // twice.
        std::numbers::sqrt2 * source.period_noise * normal(random);
    late -= half * faster;
    x[i] = late + spur * std::sin(2.0 * std::numbers::pi * kSpurFrequency * t);
  }
  return x;
}

}  // namespace

OscillatorCharacter character_trial(const ClockSource& source,
                                    const CharacterSetting& setting,
                                    std::mt19937_64& random) {
  // Off its nominal frequency by up to 100 ppm, as clocks are.
  std::uniform_real_distribution<double> uniform(-1e-4, 1e-4);
  const double rate = setting.sample_rate;
  const double period = rate / kFrequency * (1.0 + uniform(random));
  std::vector<double> samples = moved(source, 2 * setting.cycles + 2, random);
  for (double& x : samples) x *= rate;
  const SampledEdges e = sample_edges(period, 0.5, kEdgeJitter * rate,
                                      setting.cycles, random, samples);
  const TestStretch s = stretch_from_edges(e.rises, e.falls, 2048);
  const EdgeView view(s.stretch);
  const EdgeSums sums = sum_edges(view, serial_for).value();
  const LineFit line = fit_line(sums.rise, sums.fall).value();
  const TimeIntervalErrors errors(view, sums, line.slope, line.rise_intercept);
  const double seen = static_cast<double>(sums.frame.period) + line.slope;
  const Stability stability =
      describe_stability(errors, {seen, 1.0 / rate, 1.0}, {}, serial_for);
  const auto spectrum = setting.rate_known
                            ? spectrum_of(view, 1.0 / rate)
                            : spectrum_of_unknown(view, 1.0 / rate);
  CharacterInput input{&stability,
                       spectrum ? &*spectrum : nullptr,
                       errors.count(),
                       Seconds(seen / rate),
                       Seconds(std::sqrt(line.rise_residual_squares /
                                         static_cast<double>(sums.rise.n)) /
                               rate),
                       Seconds(1.0 / rate)};
  if (setting.rate_known) input.sample_interval = Seconds(1.0 / rate);
  return describe_character(input);
}

}  // namespace clockassay
