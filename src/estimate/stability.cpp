// SPDX-License-Identifier: GPL-3.0-or-later
#include "clockassay/estimate/stability.h"

#include <algorithm>
#include <cassert>
#include <cmath>
#include <numbers>

#include "clockassay/estimate/frequency_estimate.h"
#include "estimate/deviation_confidence.h"
#include "estimate/deviations_of.h"
#include "estimate/frequency_drift.h"
#include "estimate/noise_exponent.h"
#include "estimate/phase_stability.h"
#include "estimate/phase_sweep.h"

namespace clockassay {
namespace {

/// Phases that noise is told from. Chosen: far more than are needed, in 8 MB.
constexpr std::int64_t kNoisePhases = std::int64_t{1} << 20;
/// Values of each tau. Chosen: the exponent is then known to two hundredths.
constexpr std::size_t kNoiseValues = std::size_t{1} << 14;

std::vector<std::int64_t> octaves(std::int64_t most_m) {
  std::vector<std::int64_t> factors;
  for (std::int64_t m = 1; m <= most_m; m *= 2) factors.push_back(m);
  return factors;
}

/// Whole cycles of the tau chosen; what is none goes to left_out.
std::vector<std::int64_t> chosen(const std::vector<Seconds>& taus,
                                 double period_s, std::int64_t most_m,
                                 Stability& out) {
  std::vector<std::int64_t> factors;
  for (const Seconds tau : taus) {
    const double cycles = std::round(tau.value() / period_s);
    if (cycles >= 1.0 && cycles <= static_cast<double>(most_m)) {
      factors.push_back(static_cast<std::int64_t>(cycles));
    } else {
      out.left_out.push_back(tau);
    }
  }
  return factors;
}

/// Every step-th of the phases, at most kNoiseValues from the middle.
std::vector<double> thinned(std::span<const double> phases, std::size_t step) {
  const std::size_t all = (phases.size() + step - 1) / step;
  const std::size_t count = std::min(all, kNoiseValues);
  std::size_t at = (all - count) / 2 * step;
  std::vector<double> out(count);
  for (double& value : out) {
    value = phases[at];
    at += step;
  }
  return out;
}

/// A stretch from the middle of the series.
std::vector<double> middle_of(const PhaseSource& source) {
  const std::int64_t count = std::min(source.count, kNoisePhases);
  std::vector<double> phases(static_cast<std::size_t>(count));
  source.read((source.count - count) / 2, phases);
  return phases;
}

/// The kind of noise at each tau of the plan, where it can be told.
std::vector<std::optional<NoiseKind>> find_noise(
    const PhaseSource& source, const SweepPlan& plan,
    std::span<const double> held, const ParallelFor& parallel_for) {
  std::vector<double> middle;
  if (plan.in_parts > 0) middle = middle_of(source);
  std::vector<std::optional<NoiseKind>> noise(plan.taus.size());
  parallel_for(noise.size(), [&](std::size_t i) {
    const bool in_part = i < plan.in_parts;
    const std::int64_t step =
        in_part ? plan.taus[i].m : plan.taus[i].m / plan.held_step;
    noise[i] = noise_of_phases(
        thinned(in_part ? std::span<const double>(middle) : held,
                static_cast<std::size_t>(step)));
  });
  return noise;
}

/// Values of a tau from which on its noise is known well. Chosen: the exponent
/// is then known to a tenth.
constexpr std::int64_t kManyNoiseValues = 512;

/// Of the tau itself, else of the next shorter one, else of the next longer.
std::optional<std::size_t> nearest_known(
    const std::vector<std::optional<NoiseKind>>& noise, std::size_t i) {
  for (std::size_t at = i + 1; at-- > 0;) {
    if (noise[at]) return at;
  }
  for (std::size_t at = i + 1; at < noise.size(); ++at) {
    if (noise[at]) return at;
  }
  return std::nullopt;
}

/// Slower kinds of noise take over as tau grows, and stay: what was known well
/// at a shorter tau, and was not of sampling, is not whiter at a longer one
/// because few values look so, nor is it of knots that neighbours share. Out:
/// the tau whose kind is taken, of each
std::vector<std::optional<std::size_t>> noise_taken(
    const std::vector<std::optional<NoiseKind>>& noise, const SweepPlan& plan,
    std::int64_t phases, double shared_cycles,
    const std::vector<StabilityPoint>& points) {
  std::vector<std::optional<std::size_t>> taken(noise.size());
  std::optional<std::size_t> slowest;
  for (std::size_t i = 0; i < noise.size(); ++i) {
    taken[i] = nearest_known(noise, i);
    if (!taken[i]) continue;
    if (slowest && *noise[*slowest] > *noise[*taken[i]]) taken[i] = slowest;
    const std::int64_t m = plan.taus[i].m;
    const bool well =
        phases / m >= kManyNoiseValues &&
        (shared_cycles <= 1.0 || static_cast<double>(m) >= 2.0 * shared_cycles);
    if (well && noise[i] && !points[i].sampling_limited) slowest = taken[i];
  }
  return taken;
}

StabilityPoint point_of(const PlannedTau& tau, const DeviationTerms& terms,
                        const PhaseScale& scale) {
  const double tau_ticks = static_cast<double>(tau.m) * scale.period_ticks;
  const auto relative = [&](const std::optional<Deviation>& d) {
    return d ? std::optional(d->value / tau_ticks) : std::nullopt;
  };
  StabilityPoint p;
  p.tau = Seconds(tau_ticks * scale.tick_s);
  p.decimation = tau.decimation;
  p.n = terms.allan.n;
  p.adev = relative(allan_of(terms.allan));
  const double steps = static_cast<double>(tau.m / tau.decimation);
  const auto modified = modified_of(terms.modified, steps);
  p.mdev = relative(modified);
  if (modified) {
    p.tdev = Seconds(modified->value / std::numbers::sqrt3 * scale.tick_s);
  }
  p.hdev = relative(hadamard_of(terms.hadamard));
  if (const auto d = interval_of(terms.interval)) {
    p.n_period_rms = Seconds(d->value * scale.tick_s);
  }
  if (terms.range) p.mtie = Seconds(*terms.range * scale.tick_s);
  if (scale.window_ticks) {
    p.floor_adev = 0.5 * *scale.window_ticks / tau_ticks;
    p.sampling_limited =
        p.adev && *p.adev < kSamplingLimitedBelow * *p.floor_adev;
  }
  return p;
}

/// So little that sampling has hidden what there is: a clock that met the
/// sampler at all phases would show floor_adev. Chosen: half of it.
bool is_hidden(const StabilityPoint& p) {
  constexpr double kHiddenBelow = 0.5;
  return p.floor_adev && *p.adev < kHiddenBelow * *p.floor_adev;
}

/// The interval of adev, where the noise is known. Deviations of nothing say
/// nothing of what they might have been.
void add_confidence(const PlannedTau& tau, NoiseKind noise, Seconds noise_tau,
                    double shared_cycles, StabilityPoint& p) {
  if (!p.adev || *p.adev == 0.0) return;
  p.noise = noise;
  p.noise_tau = noise_tau;
  if (is_hidden(p)) return;
  // What shares noise counts once.
  const auto apart = std::max(
      tau.decimation, static_cast<std::int64_t>(std::ceil(shared_cycles)));
  p.edf = allan_dof(noise, tau.m, std::max<std::int64_t>(1, tau.m / apart),
                    std::max<std::int64_t>(1, p.n * tau.decimation / apart));
  const DeviationInterval interval =
      deviation_interval(*p.edf, kHalfWidthCoverage);
  p.adev_low = *p.adev * interval.low;
  p.adev_high = *p.adev * interval.high;
}

/// A point for each tau of the plan.
std::vector<StabilityPoint> points_of(const PhaseSource& source,
                                      const SweepPlan& plan,
                                      const PhaseScale& scale,
                                      const ParallelFor& parallel_for) {
  const PhaseSweep sweep = sweep_phases(source, plan, parallel_for);
  const auto noise = find_noise(source, plan, sweep.held, parallel_for);
  std::vector<StabilityPoint> points;
  for (std::size_t i = 0; i < plan.taus.size(); ++i) {
    points.push_back(point_of(plan.taus[i], sweep.terms[i], scale));
  }
  const auto taken =
      noise_taken(noise, plan, source.count, scale.shared_cycles, points);
  for (std::size_t i = 0; i < plan.taus.size(); ++i) {
    if (!taken[i]) continue;
    add_confidence(plan.taus[i], *noise[*taken[i]], points[*taken[i]].tau,
                   scale.shared_cycles, points[i]);
  }
  return points;
}

/// Those of `all` at some of its tau; both in order.
std::vector<StabilityPoint> points_at(
    const std::vector<PlannedTau>& some, const std::vector<PlannedTau>& all,
    const std::vector<StabilityPoint>& points) {
  std::vector<StabilityPoint> out;
  auto at = all.begin();
  for (const PlannedTau& tau : some) {
    at = std::find(at, all.end(), tau);
    assert(at != all.end());
    out.push_back(points[static_cast<std::size_t>(at - all.begin())]);
  }
  return out;
}

}  // namespace

Stability describe_phases(const PhaseSource& source, const PhaseScale& scale,
                          const StabilityOptions& options,
                          const SweepLimits& limits,
                          const ParallelFor& parallel_for) {
  Stability out;
  const double period_s = scale.period_ticks * scale.tick_s;
  const std::int64_t most_m = (source.count - 1) / kShortestOverLongest;
  out.longest = Seconds(static_cast<double>(most_m) * period_s);
  out.drift = frequency_drift(source, scale.period_ticks);
  const auto doubled = octaves(most_m);
  const auto asked = chosen(options.taus, period_s, most_m, out);
  auto all = doubled;
  all.insert(all.end(), asked.begin(), asked.end());
  const SweepPlan plan = plan_sweep(source.count, all, most_m, limits);
  if (plan.taus.empty()) return out;
  const auto points = points_of(source, plan, scale, parallel_for);
  const auto at = [&](const std::vector<std::int64_t>& factors) {
    return points_at(plan_sweep(source.count, factors, most_m, limits).taus,
                     plan.taus, points);
  };
  out.octaves = at(doubled);
  out.points = options.taus.empty() ? out.octaves : at(asked);
  return out;
}

Stability describe_stability(const TimeIntervalErrors& errors,
                             const PhaseScale& scale,
                             const StabilityOptions& options,
                             const ParallelFor& parallel_for) {
  const PhaseSource source{
      errors.count(),
      [&](std::int64_t at, std::span<double> out) { errors.read(at, out); }};
  return describe_phases(source, scale, options, {}, parallel_for);
}

}  // namespace clockassay
