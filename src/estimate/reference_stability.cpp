// SPDX-License-Identifier: GPL-3.0-or-later
#include "clockassay/estimate/reference_stability.h"

#include <algorithm>
#include <cmath>
#include <optional>
#include <vector>

#include "estimate/phase_stability.h"
#include "estimate/reference_track.h"

namespace clockassay {
namespace {

/// Between two knots, evenly everywhere, this much of the variance of one is
/// left: the mean of (1 - u)^2 + u^2.
constexpr double kBetweenKnots = 2.0 / 3.0;
/// Neighbours a knot apart have a quarter of their noise in common: it is as
/// if they were so many knots apart, 1 + 2 / 4^2.
constexpr double kSharedKnots = 1.125;
/// From as many knots on phases tau apart have no knot in common.
constexpr double kKnotsOfTau = 2.0;

/// A reference as the time of a clock.
struct KnownTime {
  ReferenceTrack track;
  double tick_ratio;    ///< ticks of the reference in one of the clock
  double knot_cycles;   ///< cycles of the clock from one knot to the next
  double window_ticks;  ///< of a knot, in ticks of the clock, as one of an edge
};

std::optional<KnownTime> known_time(const CommonViews& views,
                                    const PhaseScale& scale,
                                    const ParallelFor& parallel_for) {
  const TimedView& r = views.reference;
  const auto sums = sum_edges(r.view, parallel_for);
  if (!sums) return std::nullopt;
  const auto line = fit_line(sums->rise, LineSums{});
  if (!line) return std::nullopt;
  const double tick_ratio = scale.tick_s / r.scale.tick_s.to_double();
  const double periods =
      (static_cast<double>(sums->frame.period) + line->slope) /
      (scale.period_ticks * tick_ratio);
  const std::int64_t per_knot = edges_per_knot(1.0 / periods, sums->rise.n);
  const auto edges = static_cast<double>(per_knot);
  return KnownTime{
      ReferenceTrack(r.view, *sums, *line, r.origin, per_knot, parallel_for),
      tick_ratio, edges * periods,
      r.scale.window_ticks.to_double() / tick_ratio / std::sqrt(edges)};
}

/// A straight line through phases, k counted from the middle.
struct PhaseLine {
  double slope = 0.0;
  double intercept = 0.0;
  double rms = 0.0;  ///< of the phases about it
};

/// The phases of the clock in the time of the reference; NaN before its first
/// knot and after its last.
class TimedPhases {
 public:
  TimedPhases(const CommonViews& views, const EdgeSums& sums,
              const LineFit& line, const TimeIntervalErrors& errors,
              const KnownTime& time)
      : errors_(errors),
        time_(time),
        period_(static_cast<double>(sums.frame.period) + line.slope),
        start_(static_cast<double>(
                   (sums.frame.origin - views.clock.origin).count()) +
               period_ * static_cast<double>(sums.first_cycle) +
               line.rise_intercept) {}

  /// About a line of their own.
  PhaseLine take_line(const ParallelFor& parallel_for);

  std::int64_t count() const { return errors_.count(); }

  void read(std::int64_t at, std::span<double> out) const {
    std::vector<double> instants(out.size());
    std::vector<double> offsets(out.size());
    errors_.read(at, out);
    for (std::size_t i = 0; i < out.size(); ++i) {
      const double k = static_cast<double>(at) + static_cast<double>(i);
      instants[i] = (start_ + period_ * k + out[i]) * time_.tick_ratio;
    }
    time_.track.offsets(instants, offsets);
    for (std::size_t i = 0; i < out.size(); ++i) {
      out[i] -= offsets[i] / time_.tick_ratio + line_.intercept +
                line_.slope * from_middle(at, i);
    }
  }

 private:
  double from_middle(std::int64_t at, std::size_t i) const {
    return static_cast<double>(at) + static_cast<double>(i) -
           0.5 * static_cast<double>(count());
  }

  const TimeIntervalErrors& errors_;
  const KnownTime& time_;
  double period_;  ///< ticks
  double start_;   ///< of the line, at the first cycle, since the origin
  PhaseLine line_;
};

/// Sums of (k, x).
struct PhaseSums {
  double n = 0.0, k = 0.0, x = 0.0, kk = 0.0, kx = 0.0, xx = 0.0;

  void add(double point_k, double point_x) {
    n += 1.0;
    k += point_k;
    x += point_x;
    kk += point_k * point_k;
    kx += point_k * point_x;
    xx += point_x * point_x;
  }
  void add(const PhaseSums& o) {
    n += o.n;
    k += o.k;
    x += o.x;
    kk += o.kk;
    kx += o.kx;
    xx += o.xx;
  }
  PhaseLine line() const {
    PhaseLine out;
    if (n < 3.0) return out;
    const double skk = kk - k * k / n, skx = kx - k * x / n;
    out.slope = skx / skk;
    out.intercept = (x - out.slope * k) / n;
    out.rms = std::sqrt(std::max(0.0, xx - x * x / n - skx * out.slope) / n);
    return out;
  }
};

PhaseLine TimedPhases::take_line(const ParallelFor& parallel_for) {
  constexpr std::int64_t kPart = std::int64_t{1} << 15;  // chosen: 256 kB
  std::vector<PhaseSums> parts(
      static_cast<std::size_t>((count() + kPart - 1) / kPart));
  parallel_for(parts.size(), [&](std::size_t p) {
    const std::int64_t at = static_cast<std::int64_t>(p) * kPart;
    std::vector<double> x(
        static_cast<std::size_t>(std::min(kPart, count() - at)));
    read(at, x);
    for (std::size_t i = 0; i < x.size(); ++i) {
      if (!std::isnan(x[i])) parts[p].add(from_middle(at, i), x[i]);
    }
  });
  PhaseSums all;
  for (const PhaseSums& part : parts) all.add(part);
  return line_ = all.line();
}

/// Points at tau of `from` and more, of the same tau in the reference's time.
void take_timed(Seconds from, const std::vector<StabilityPoint>& timed,
                std::vector<StabilityPoint>& points) {
  for (std::size_t i = 0; i < points.size(); ++i) {
    if (points[i].tau < from) continue;
    points[i] = timed[i];
    points[i].against_reference = true;
  }
}

}  // namespace

Stability describe_stability_against(const CommonViews& views,
                                     const EdgeSums& sums, const LineFit& line,
                                     const PhaseScale& scale,
                                     const StabilityOptions& options,
                                     const ParallelFor& parallel_for) {
  const TimeIntervalErrors errors(views.clock.view, sums, line.slope,
                                  line.rise_intercept);
  Stability out = describe_stability(errors, scale, options, parallel_for);
  const auto time = known_time(views, scale, parallel_for);
  if (!time) return out;
  const double window =
      std::sqrt(std::pow(scale.window_ticks.value_or(0.0), 2) +
                kBetweenKnots * std::pow(time->window_ticks, 2));
  const Seconds from(kKnotsOfTau * time->knot_cycles * scale.period_ticks *
                     scale.tick_s);
  out.reference = StabilityReference{from, {}, Seconds(window * scale.tick_s)};
  if (out.longest < from) return out;
  TimedPhases phases(views, sums, line, errors, *time);
  const PhaseLine rest = phases.take_line(parallel_for);
  out.reference->tie_rms = Seconds(rest.rms * scale.tick_s);
  PhaseScale timed = scale;
  if (scale.window_ticks) timed.window_ticks = window;
  timed.shared_cycles = std::max(1.0, kSharedKnots * time->knot_cycles);
  const Stability against = describe_phases(
      {phases.count(),
       [&](std::int64_t at, std::span<double> x) { phases.read(at, x); }},
      timed, options, {}, parallel_for);
  take_timed(from, against.points, out.points);
  take_timed(from, against.octaves, out.octaves);
  out.drift = against.drift;
  return out;
}

}  // namespace clockassay
