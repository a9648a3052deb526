// SPDX-License-Identifier: GPL-3.0-or-later
#include "edges/cycle_predictor.h"

#include <algorithm>
#include <cmath>
#include <complex>
#include <numbers>
#include <vector>

#include "base/median.h"
#include "clockassay/edges/numbering.h"
#include "edges/cycle_line.h"

namespace clockassay {
namespace {

/// Edges the recursive line remembers. Chosen: long against the sampling
/// error, short against drift.
constexpr int kMemory = 32;
/// Gaps looked at for a first period, and how many in a row must agree.
/// Chosen by simulation with 10 % lost cycles and 10 % glitches.
constexpr std::size_t kBootstrapGaps = 64;
constexpr std::size_t kAgreeingGaps = 5;
/// Gaps within this fraction of the median agree with it.
constexpr double kGapTolerance = 0.25;
/// An edge further than this fraction of a period off cannot be told from one
/// of the neighbouring cycle.
constexpr double kHardTolerance = 0.45;
/// Errors count up to this many standard deviations: an extra edge taken for a
/// lost one must not pull the line along. Chosen.
constexpr double kTrusted = 3.0;

/// How far off an edge may be. Two windows: its own and the line's. Six sigma:
/// with a million edges none is rejected by chance.
double tolerance_of(double scatter, double window, double period) {
  return std::min(std::max(2.0 * window, 6.0 * scatter),
                  kHardTolerance * period);
}

/// Median high time: first falling edge after each rising one, where it comes
/// within the period.
double median_high(std::span<const std::int64_t> rise,
                   std::span<const std::int64_t> fall, double period) {
  std::vector<double> highs;
  for (std::int64_t r : rise) {
    const auto f = std::upper_bound(fall.begin(), fall.end(), r);
    if (f == fall.end()) break;
    const auto high = static_cast<double>(*f - r);
    if (high < period) highs.push_back(high);
  }
  return highs.empty() ? 0.5 * period : median(std::move(highs));
}

/// Half-width within which gaps agree with their median: six standard
/// deviations by the median deviation, at least what sampling makes, at most
/// kGapTolerance, since a glitch leaves gaps of up to a whole period.
double agreement_band(const std::vector<double>& gaps, double typical,
                      double window) {
  constexpr double kMadToSigma = 1.4826;  // for a normal distribution
  std::vector<double> deviations;
  for (double g : gaps) deviations.push_back(std::abs(g - typical));
  const double wide = 6.0 * kMadToSigma * median(std::move(deviations));
  const double sampling = 2.0 * window;
  return std::max(std::min(std::max(wide, sampling), kGapTolerance * typical),
                  window);
}

/// The first edges in a row whose gaps agree, and what all gaps that do say.
struct Rhythm {
  std::size_t anchor;  ///< index of the first of kAgreeingGaps + 1 edges
  double period;
};

std::optional<Rhythm> find_rhythm(std::span<const std::int64_t> rise,
                                  double window) {
  std::vector<double> gaps;
  for (std::size_t i = 0; i + 1 < rise.size(); ++i) {
    gaps.push_back(static_cast<double>(rise[i + 1] - rise[i]));
  }
  const double typical = median(gaps);
  const double band = agreement_band(gaps, typical, window);
  double n = 0.0, sum = 0.0;
  std::size_t in_a_row = 0;
  std::optional<std::size_t> anchor;
  for (std::size_t i = 0; i < gaps.size(); ++i) {
    const double d = gaps[i] - typical;
    if (std::abs(d) > band) {
      in_a_row = 0;
      continue;
    }
    n += 1.0;
    sum += d;
    if (++in_a_row == kAgreeingGaps && !anchor) anchor = i + 1 - kAgreeingGaps;
  }
  if (!anchor) return std::nullopt;
  return Rhythm{*anchor, typical + sum / n};
}

/// The period about the given one with which edges come at most alike a place,
/// whichever cycles they belong to, and that place [ticks after the first].
struct Beat {
  double period;
  double place;
  double coherence;  ///< 1: all at the same place; 0: anywhere
};

Beat find_beat(std::span<const std::int64_t> rise, double period) {
  // With jitter of 12 % a third of lost cycles takes the median gap 0.1 up.
  constexpr double kReach = 0.12;
  constexpr double kStepsPerTurn = 8.0;  // loses less than 1 % of coherence
  constexpr double kTurn = 2.0 * std::numbers::pi;
  const auto span = static_cast<double>(rise.back() - rise.front());
  const int steps =
      static_cast<int>(std::ceil(kReach * span / period * kStepsPerTurn));
  // Frequencies evenly spaced: each edge turns by its own angle a step.
  const double step = kReach / (period * steps);
  std::vector<std::complex<double>> at, turn;
  for (const std::int64_t tick : rise) {
    const auto since = static_cast<double>(tick - rise.front());
    at.push_back(
        std::polar(1.0, kTurn * since * (1.0 / period - steps * step)));
    turn.push_back(std::polar(1.0, kTurn * since * step));
  }
  Beat best{period, 0.0, -1.0};
  for (int i = -steps; i <= steps; ++i) {
    double x = 0.0, y = 0.0;
    for (std::size_t e = 0; e < at.size(); ++e) {
      x += at[e].real();
      y += at[e].imag();
      at[e] = {at[e].real() * turn[e].real() - at[e].imag() * turn[e].imag(),
               at[e].real() * turn[e].imag() + at[e].imag() * turn[e].real()};
    }
    const double coherence =
        std::sqrt(x * x + y * y) / static_cast<double>(rise.size());
    if (coherence > best.coherence) {
      const double trial = 1.0 / (1.0 / period + i * step);
      best = {trial, trial * std::atan2(y, x) / kTurn, coherence};
    }
  }
  return best;
}

/// Numbers edges by a beat: those near their cycle, the nearest for each.
std::vector<NumberedEdge> number_by(const Beat& beat,
                                    std::span<const std::int64_t> rise,
                                    double window) {
  // A normal distribution of places has the coherence exp(-(2 pi s)^2 / 2).
  const double scatter =
      beat.period / (2.0 * std::numbers::pi) *
      std::sqrt(std::max(0.0, -2.0 * std::log(beat.coherence)));
  const double limit = tolerance_of(scatter, window, beat.period);
  std::vector<NumberedEdge> edges;
  double last = 0.0;
  for (const std::int64_t tick : rise) {
    const double since = static_cast<double>(tick - rise.front()) - beat.place;
    const double n = std::round(since / beat.period);
    const double off = std::abs(since - n * beat.period);
    if (off > limit) continue;
    const auto cycle = static_cast<std::int64_t>(n);
    if (edges.empty() || edges.back().cycle < cycle) {
      edges.push_back({cycle, tick});
      last = off;
    } else if (off < last) {
      edges.back().tick = tick;
      last = off;
    }
  }
  return edges;
}

/// Edges about the anchor, no gap of which is a stop of the clock.
struct Run {
  std::span<const std::int64_t> edges;
  std::size_t anchor;  ///< index into them
};

Run without_silence(std::span<const std::int64_t> rise, const Rhythm& rhythm) {
  const auto stops_after = [&](std::size_t i) {
    return static_cast<double>(rise[i + 1] - rise[i]) >
           kStopPeriods * rhythm.period;
  };
  std::size_t begin = rhythm.anchor, end = rhythm.anchor + 1;
  while (begin > 0 && !stops_after(begin - 1)) --begin;
  while (end < rise.size() && !stops_after(end - 1)) ++end;
  return {rise.subspan(begin, end - begin), rhythm.anchor - begin};
}

/// As many edges from the rhythm on as keep one beat, numbered: a line through
/// many predicts better than one edge and a mean gap. A clock that drifts keeps
/// it over few only.
std::vector<NumberedEdge> number_about(std::span<const std::int64_t> rise,
                                       const Rhythm& rhythm, double window) {
  // Chosen: jitter of 12 % of the period and a fifth of edges anywhere leave
  // 0.6.
  constexpr double kCoherent = 0.45;
  std::vector<NumberedEdge> edges;
  const Run run = without_silence(rise, rhythm);
  auto part = run.edges;
  for (std::size_t n = kBootstrapGaps + 1; n > kAgreeingGaps; n /= 2) {
    if (n < run.edges.size()) {
      part = run.edges.subspan(std::min(run.anchor, run.edges.size() - n), n);
    }
    const Beat beat = find_beat(part, rhythm.period);
    edges = number_by(beat, part, window);
    if (beat.coherence >= kCoherent) break;
  }
  std::vector<NumberedEdge> none;
  clip_outliers(edges, none, window);
  return edges;
}

}  // namespace

CyclePredictor::CyclePredictor(std::int64_t cycle, Ticks tick, double period,
                               double high, double scatter, int memory)
    : cycle_(cycle),
      tick_(tick),
      period_(period),
      high_(high),
      variance_(scatter * scatter),
      memory_(std::min(memory, kMemory)) {}

CyclePredictor::Match CyclePredictor::match(bool rising, Ticks tick) const {
  const double since = static_cast<double>((tick - tick_).count()) - offset_ -
                       (rising ? 0.0 : high_);
  const double n = std::round(since / period_);
  return {cycle_ + static_cast<std::int64_t>(n), since - n * period_};
}

double CyclePredictor::tolerance(double window) const {
  return tolerance_of(scatter(), window, period_);
}

void CyclePredictor::accept(bool rising, Ticks tick, const Match& m) {
  const double n = memory_;
  // Gains of the recursive least-squares line over n + 1 equidistant points.
  const double phase_gain = 2.0 * (2.0 * n + 1.0) / ((n + 1.0) * (n + 2.0));
  const double period_gain = 6.0 / ((n + 1.0) * (n + 2.0));
  const double most = kTrusted * scatter();
  const double error = std::clamp(m.error, -most, most);
  variance_ += (m.error * m.error - variance_) / (n + 1.0);
  if (!rising) {
    high_ += phase_gain * error;
    return;
  }
  const auto steps = static_cast<double>(m.cycle - cycle_);
  offset_ = phase_gain * error - m.error;
  if (steps != 0.0) period_ += period_gain * error / steps;
  cycle_ = m.cycle;
  tick_ = tick;
  memory_ = std::min(memory_ + 1, kMemory);
}

std::optional<Bootstrap> bootstrap_predictor(std::span<const std::int64_t> rise,
                                             std::span<const std::int64_t> fall,
                                             Ticks base, double window) {
  if (rise.size() < 2) return std::nullopt;
  for (std::size_t begin = 0; begin + 1 < rise.size();
       begin += kBootstrapGaps) {
    // The last part is as long as the others: few edges say little.
    const std::size_t most = std::min(rise.size(), kBootstrapGaps + 1);
    const std::size_t first = std::min(begin, rise.size() - most);
    const auto part = rise.subspan(first, most);
    const auto rhythm = find_rhythm(part, window);
    if (!rhythm) continue;
    const auto edges = number_about(part, *rhythm, window);
    if (edges.size() < 2) continue;
    const CycleLine line = fit_cycle_line(edges, {});
    const std::int64_t cycle = edges.front().cycle;
    const double place =
        line.rise_intercept + line.period * static_cast<double>(cycle);
    const double after = static_cast<double>(part[rhythm->anchor]) - place;
    return Bootstrap{
        first + rhythm->anchor,
        CyclePredictor(-std::llround(after / line.period),
                       base + Ticks(std::llround(place)), line.period,
                       median_high(rise, fall, line.period), line.scatter,
                       static_cast<int>(edges.size()))};
  }
  return std::nullopt;
}

}  // namespace clockassay
