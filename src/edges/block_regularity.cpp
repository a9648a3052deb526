// SPDX-License-Identifier: GPL-3.0-or-later
#include "edges/block_regularity.h"

#include <algorithm>
#include <cmath>

#include "base/median.h"
#include "edges/cycle_line.h"

namespace clockassay {
namespace {

/// Periods of a block within this fraction of the running period number
/// themselves; a lost cycle changes one by 1, a glitch by at least 0.5.
constexpr double kRegularTolerance = 0.25;
/// Below this many cycles a block's own line says too little about its
/// numbering: a lost cycle could hide between its residual and its slope.
constexpr std::uint32_t kLineCycles = 64;
/// The line's period may be off the typical one by this fraction. A lost cycle
/// in the middle of n stretches it by 1.5/n and leaves 0.5 - 0.75/n: from
/// kLineCycles on within this, and above kRawResidual.
constexpr double kSlopeTolerance = 0.05;

/// How many edges are out of the middle of their neighbours by more than jitter
/// and sampling explain. Drift and steps of the frequency hardly show here.
std::size_t count_displaced(std::span<const std::int64_t> ticks,
                            double window) {
  constexpr std::size_t kFewest = 9;  // chosen: for a median to mean something
  constexpr double kSigmas = 6.0;     // chosen: one in 1e9 by chance
  constexpr double kMadToSigma = 1.4826;
  if (ticks.size() < kFewest) return 0;
  std::vector<double> sizes;
  for (std::size_t i = 1; i + 1 < ticks.size(); ++i) {
    const std::int64_t twice =
        (ticks[i] - ticks[i - 1]) - (ticks[i + 1] - ticks[i]);
    sizes.push_back(0.5 * std::abs(static_cast<double>(twice)));
  }
  const double limit =
      std::max(2.0 * window, kSigmas * kMadToSigma * median(sizes));
  return static_cast<std::size_t>(std::count_if(
      sizes.begin(), sizes.end(), [&](double s) { return s > limit; }));
}

}  // namespace

double mean_period(const CycleBlock& b) {
  return static_cast<double>((b.end - b.first).count()) /
         static_cast<double>(b.count);
}

std::vector<NumberedEdge> numbered(std::span<const std::int64_t> ticks) {
  std::vector<NumberedEdge> edges(ticks.size());
  for (std::size_t i = 0; i < ticks.size(); ++i) {
    edges[i] = {static_cast<std::int64_t>(i), ticks[i]};
  }
  return edges;
}

bool periods_within(const CycleBlock& b, double period, double windows,
                    double window) {
  const double tolerance =
      std::max(kRegularTolerance * period,
               std::min(windows * window, kRawResidual * period));
  return static_cast<double>(b.period_min) >= period - tolerance &&
         static_cast<double>(b.period_max) <= period + tolerance;
}

bool raw_numbering_fits(const CycleBlock& b, std::optional<double> period) {
  if (b.count < kLineCycles) return false;
  DecodedCycles decoded;
  decode_cycles(b, decoded);
  std::vector<NumberedEdge> edges =
      numbered({decoded.rise.data(), decoded.count});
  edges.push_back({b.count, (b.end - b.first).count()});
  std::vector<std::int64_t> gaps;
  for (std::size_t i = 1; i < edges.size(); ++i) {
    gaps.push_back(edges[i].tick - edges[i - 1].tick);
  }
  const double typical = period ? *period : static_cast<double>(median(gaps));
  const CycleLine line = fit_cycle_line(edges, {});
  if (std::abs(line.period - typical) > kSlopeTolerance * typical) {
    return false;
  }
  const double limit = kRawResidual * typical;
  return std::all_of(edges.begin(), edges.end(), [&](const NumberedEdge& e) {
    return std::abs(static_cast<double>(e.tick) - line.rise_intercept -
                    line.period * static_cast<double>(e.cycle)) < limit;
  });
}

bool pulse_displaced(const CycleBlock& b, bool rising_only, double window) {
  constexpr std::size_t kRare = 50;  // one in that many; chosen
  DecodedCycles decoded;
  decode_cycles(b, decoded);
  // A displaced edge makes both its neighbours look so too.
  const std::size_t most = 3 * std::max<std::size_t>(1, b.count / kRare);
  const auto few = [&](std::span<const std::int64_t> ticks) {
    const std::size_t displaced = count_displaced(ticks, window);
    return displaced > 0 && displaced <= most;
  };
  std::vector<std::int64_t> rises(decoded.rise.begin(),
                                  decoded.rise.begin() + b.count);
  rises.push_back((b.end - b.first).count());
  return few(rises) ||
         (!rising_only && few({decoded.fall.data(), decoded.count}));
}

}  // namespace clockassay
