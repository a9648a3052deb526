// SPDX-License-Identifier: GPL-3.0-or-later
#include "clockassay/estimate/clock_estimate.h"
#include "clockassay/base/prefixed_number.h"

#include <algorithm>
#include <cmath>
#include <limits>

#include "clockassay/estimate/edge_line.h"
#include "clockassay/estimate/edge_sums.h"
#include "clockassay/estimate/feasible_set.h"
#include "clockassay/estimate/jitter.h"
#include "clockassay/estimate/spectral_check.h"
#include "clockassay/estimate/student_t.h"
#include "estimate/formatted_text.h"
#include "estimate/gap_phase.h"
#include "estimate/view_estimate.h"

namespace clockassay {
namespace {

/// Window in units of the feasible set, rounded up; nullopt when it is longer
/// than residuals may be.
std::optional<std::int64_t> window_units(const Rational& ticks) {
  if (ticks > Rational(kMostResidual)) return std::nullopt;
  const Int128 scaled = ticks.num() * kWindowUnits;
  return static_cast<std::int64_t>((scaled + ticks.den() - 1) / ticks.den());
}

FrequencyEstimate in_hertz(const PeriodEstimate& p, const EdgeSums& sums,
                           const FeasibleSet& set, double tick_s) {
  constexpr double kEpsilon = std::numeric_limits<double>::epsilon();
  // What a double leaves of a frequency: three roundings.
  constexpr double kRounding = 3.0 * kEpsilon;
  const double base = static_cast<double>(sums.frame.period);
  const auto hertz = [&](double slope) {
    return 1.0 / ((base + slope) * tick_s);
  };
  FrequencyEstimate f;
  f.method = p.method;
  f.frequency = Hertz(hertz(p.slope));
  // The longer period is the nearer frequency: the other side is the wider. No
  // difference of frequencies, which of many edges rounds to nothing.
  const double shortest = base + p.slope - p.half_width;
  f.half_width =
      Hertz(f.frequency.value() * (p.half_width / shortest + kRounding));
  if (set.bounds) {
    f.bound_low = Hertz(hertz(set.bounds->high.value()) * (1.0 - kRounding));
    f.bound_high = Hertz(hertz(set.bounds->low.value()) * (1.0 + kRounding));
  }
  return f;
}

std::optional<DutyEstimate> duty_of(const EdgeSums& sums, const LineFit& line,
                                    double period, double window) {
  if (!line.fall_intercept) return std::nullopt;
  DutyEstimate duty;
  const double high = *line.fall_intercept - line.rise_intercept;
  duty.value = high / period - std::floor(high / period);
  // Each intercept may be off by anything up to a window, the difference of two
  // is triangular over +-window; and both are means of edges that scatter.
  const double sampling = window * window / 6.0;
  const double variance =
      line.dof > 0 ? line.residual_squares / static_cast<double>(line.dof)
                   : 0.0;
  const double scatter = variance * (1.0 / static_cast<double>(sums.rise.n) +
                                     1.0 / static_cast<double>(sums.fall.n));
  duty.standard_uncertainty = std::sqrt(sampling + scatter) / period;
  duty.lines = {
      {"sampling of both edges", "triangular", std::sqrt(sampling) / period},
      {"scatter of the edges", "normal", std::sqrt(scatter) / period}};
  return duty;
}

/// How the edges meet the samples, where these are known and the text shows
/// them.
void describe_sampling(const TickScale& scale, ClockEstimate& clock) {
  if (!scale.sample_ticks) return;
  const double sample = scale.sample_ticks->to_double();
  const double samples = clock.period_ticks / sample;
  clock.samples_per_period = samples;
  if (scale.window_ticks.to_double() > 2.0 * sample) return;
  clock.few_phases = find_few_phases(
      samples, clock.span.value() / clock.period.value(), clock.span);
}

/// What else the edges may be where there are too few samples.
std::string undersampled(double period, double window,
                         const ClockEstimate& clock) {
  if (clock.samples_per_period &&
      *clock.samples_per_period >= kFewestSamplesPerPeriod) {
    return formatted_text(
        "the period is %.3g times the %.3g samples within which the times "
        "place an edge: edges may be lost; export the times with more digits",
        period / window, *clock.samples_per_period * window / period);
  }
  const std::string known =
      formatted_text("%.3g samples a period", period / window);
  if (!clock.samples_per_period) {
    return known +
           ": a clock above half the sample rate would look the same; capture "
           "at another rate";
  }
  const double f = clock.frequency.frequency.value();
  const double rate = f * *clock.samples_per_period;
  return known +
         formatted_text(
             ": a clock of %.6g Hz or %.6g Hz, the sample rate of %.6g Hz "
             "less or more this frequency, would look the same; capture at "
             "another rate",
             rate - f, rate + f, rate);
}

std::string locked(const FewPhases& few) {
  return formatted_text(
      "%lld period%s %lld samples: the edges meet the sampler at %lld of its "
      "phases, which move by %.2g of the way to the next in this capture (a "
      "beat of %.3g Hz); jitter figures show these phases, not the clock, and "
      "without jitter the frequency stays open by %.2g ppm (only jitter that "
      "is known to be normal tells more); at %.5g MHz every phase would be "
      "met",
      static_cast<long long>(few.periods),
      few.periods == 1 ? " takes" : "s take",
      static_cast<long long>(few.samples), static_cast<long long>(few.periods),
      few.steps, few.beat.value(), few.resolution.value(),
      few.better_rate.value() / 1e6);
}

std::string moving_duty(const PolaritySlopes& apart, double period,
                        const ClockEstimate& clock) {
  const double part = (apart.fall - apart.rise) / period;
  return formatted_text(
      "the periods of the rising and the falling edges differ by %.3g ppm, "
      "more than sampling and jitter explain: the high time %s by about %.3g "
      "ns within the capture; which edges are the clock's cannot be known, and "
      "the uncertainty is widened to contain both",
      std::abs(part) * 1e6, part > 0.0 ? "grows" : "shrinks",
      std::abs(part) * clock.span.value() * 1e9);
}

/// A gap that is no damage of the capture: it may not be mended.
void warn_of_gap_jump(const EdgeView& view, const EdgeSums& sums, double window,
                      double tick_s, ClockEstimate& clock) {
  const auto gap = find_gap_jump(view, sums, window);
  if (!gap) return;
  clock.warnings.push_back(
      {WarningCode::kRepairDoubtful,
       formatted_text(
           "after %lld lost cycle%s, %.9g s after its first edge, the clock "
           "goes on %.3g periods off its phase before, more than jitter and "
           "sampling explain: it stopped there, and its mean frequency is not "
           "that of its running",
           static_cast<long long>(gap->lost), gap->lost == 1 ? "" : "s",
           static_cast<double>((gap->after - view.from()).count()) * tick_s,
           gap->jump / clock.period_ticks)});
}

void add_warnings(const EdgeSums& sums, const LineFit& line,
                  const PeriodEstimate& p, double period, double window,
                  ClockEstimate& clock) {
  const auto warn = [&](WarningCode code, std::string message) {
    clock.warnings.push_back({code, std::move(message)});
  };
  if (sums.rise.n < kFewEdges) {
    warn(WarningCode::kFewEdges,
         formatted_text(
             "only %lld rising edges: the interval their windows enclose is "
             "all that can be said, and jitter may go unseen",
             static_cast<long long>(sums.rise.n)));
  }
  if (period < kFewestSamplesPerPeriod * window) {
    warn(WarningCode::kUndersampled, undersampled(period, window, clock));
  } else if (clock.few_phases) {
    warn(WarningCode::kLockedToSampling, locked(*clock.few_phases));
  } else if (line.residual_squares == 0.0 && sums.rise.n >= kFewEdges) {
    warn(WarningCode::kLockedToSampling,
         "every period is the same whole number of samples: the clock is too "
         "close to a fraction of the sample rate for sampling to resolve more");
  }
  if (p.wander) {
    warn(WarningCode::kWander,
         formatted_text(
             "the mean frequency over %s, an eighth of the capture, or more "
             "is up to %.3g ppm off that of all of it, more than sampling and "
             "jitter explain; within less time it may move by more; the "
             "uncertainty of the mean is widened to contain it",
             prefixed_number(clock.span.value() / 8.0, 2, "s").c_str(),
             *p.wander / period * 1e6));
  }
  if (p.polarities) {
    warn(WarningCode::kDutyMoves, moving_duty(*p.polarities, period, clock));
  }
  if (p.contradicted && !p.wander) {
    warn(WarningCode::kModelContradicted,
         formatted_text(
             "the edges contradict one frequency with white normal jitter: "
             "they bend, come in groups or alternate; the frequency changed, "
             "or the jitter is of another kind; the uncertainty, %.2g ppm, is "
             "no less than what such edges leave open",
             p.half_width / period * 1e6));
  }
  if (clock.spectral_check.outcome == SpectralOutcome::kDisagrees) {
    warn(WarningCode::kSpectralDisagrees,
         formatted_text(
             "the spectral check differs by %.3g ppm, limit %.3g ppm: ",
             clock.spectral_check.difference->value(),
             clock.spectral_check.limit->value()) +
             clock.spectral_check.reason);
  } else if (clock.spectral_check.outcome == SpectralOutcome::kNotApplicable) {
    warn(WarningCode::kSpectralNotApplicable,
         "no spectral check: " + clock.spectral_check.reason);
  }
}

/// What the view says of the clock, once its period is known.
ClockEstimate describe_clock(const EdgeView& view, const TickScale& scale,
                             const ViewEstimate& estimated,
                             const ParallelFor& parallel_for) {
  const double tick_s = scale.tick_s.to_double();
  const double window = scale.window_ticks.to_double();
  const EdgeSums& sums = estimated.sums;
  const PeriodEstimate& p = estimated.period;
  const double period = static_cast<double>(sums.frame.period) + p.slope;
  ClockEstimate clock;
  clock.frequency = in_hertz(p, sums, estimated.set, tick_s);
  clock.period = Seconds(period * tick_s);
  clock.period_ticks = period;
  clock.scattered = p.scatter.has_value();
  if (p.wander) clock.wander = *p.wander / period;
  clock.duty = duty_of(sums, estimated.line, period, window);
  clock.jitter = describe_jitter(sums, estimated.line, estimated.residuals,
                                 p.jitter, window, tick_s);
  clock.rising = sums.rise.n;
  clock.falling = sums.fall.n;
  clock.span =
      Seconds(static_cast<double>((view.to() - view.from()).count()) * tick_s);
  clock.spectral_check = check_spectrum(
      view,
      {sums.rise.n, period, window,
       p.half_width / student_t_two_sided(kHalfWidthCoverage, {}), tick_s},
      parallel_for);
  describe_sampling(scale, clock);
  add_warnings(sums, estimated.line, p, period, window, clock);
  warn_of_gap_jump(view, sums, window, tick_s, clock);
  return clock;
}

void describe_nominal_error(const EdgeView& view, const TickScale& scale,
                            const ViewEstimate& estimated,
                            const NominalClock& nominal,
                            const ParallelFor& parallel_for, Jitter& jitter) {
  const double slope =
      nominal_slope(nominal, scale.tick_s, estimated.sums.frame);
  const NominalError error = find_nominal_error(
      view, estimated.sums, estimated.extremes, slope, parallel_for);
  const double tick_s = scale.tick_s.to_double();
  jitter.tie_nominal_rms = Seconds(error.rms * tick_s);
  jitter.tie_nominal_peak_to_peak = Seconds(error.peak_to_peak * tick_s);
}

}  // namespace

Result<ClockEstimate> estimate_clock(
    const EdgeView& view, const TickScale& scale,
    const ParallelFor& parallel_for,
    const std::optional<NominalClock>& nominal) {
  if (!has_two_rising_edges(view)) {
    return failure(ErrorCode::kTooFewEdges,
                   "fewer than two rising edges: no period");
  }
  const auto units = window_units(scale.window_ticks);
  if (!units) {
    return failure(ErrorCode::kOutOfRange,
                   "the window of an edge is too many ticks long",
                   "write the times with fewer decimals");
  }
  const auto estimated =
      estimate_view(view,
                    {scale.window_ticks.to_double(), *units,
                     scale.sample_ticks == scale.window_ticks},
                    parallel_for);
  if (!estimated) return tl::unexpected(estimated.error());
  const PeriodEstimate& p = estimated->period;
  if (p.half_width >=
      static_cast<double>(estimated->sums.frame.period) + p.slope) {
    return failure(ErrorCode::kTooFewEdges,
                   "the edges leave the period open: each is known to within "
                   "more than a period",
                   "capture more edges, or sample faster");
  }
  ClockEstimate clock = describe_clock(view, scale, *estimated, parallel_for);
  if (nominal) {
    describe_nominal_error(view, scale, *estimated, *nominal, parallel_for,
                           clock.jitter);
  }
  return clock;
}

}  // namespace clockassay
