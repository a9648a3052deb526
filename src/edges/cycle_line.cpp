// SPDX-License-Identifier: GPL-3.0-or-later
#include "edges/cycle_line.h"

#include <algorithm>
#include <cassert>
#include <cmath>
#include <optional>
#include <utility>

#include "base/median.h"

namespace clockassay {
namespace {

struct Moments {
  double n = 0.0, k = 0.0, t = 0.0;  // count and means
  double kk = 0.0, kt = 0.0;         // central sums
};

Moments moments(std::span<const NumberedEdge> edges) {
  Moments m;
  for (const NumberedEdge& e : edges) {
    m.n += 1.0;
    m.k += static_cast<double>(e.cycle);
    m.t += static_cast<double>(e.tick);
  }
  if (edges.empty()) return m;
  m.k /= m.n;
  m.t /= m.n;
  for (const NumberedEdge& e : edges) {
    const double dk = static_cast<double>(e.cycle) - m.k;
    m.kk += dk * dk;
    m.kt += dk * (static_cast<double>(e.tick) - m.t);
  }
  return m;
}

double residual(const NumberedEdge& e, double intercept, double period) {
  return static_cast<double>(e.tick) - intercept -
         period * static_cast<double>(e.cycle);
}

constexpr double kSigmas = 6.0;  // chosen: one in 1e9 by chance
/// Median absolute deviation to standard deviation, of a normal distribution.
constexpr double kMadToSigma = 1.4826;

/// Jitter from the share of edges outside the window, if they fill it evenly
/// with |residuals|: one of rms s leaves sqrt(2/pi) s/window outside. An upper
/// estimate. nullopt when they do not, as those of a clock locked to the
/// sampler, or are too few to tell.
std::optional<double> jitter_in_even_window(const std::vector<double>& sizes,
                                            double window) {
  constexpr double kFewest = 200.0;    // chosen: 3 sigma of a half are 0.1
  constexpr double kEven = 0.1;        // the inner half's share is off by less
  constexpr double kInverse = 1.2533;  // sqrt(pi/2)
  const auto n = static_cast<double>(sizes.size());
  double inner = 0.0, outside = 0.0;
  for (double s : sizes) {
    inner += s <= 0.25 * window;
    outside += s > 0.5 * window;
  }
  if (n < kFewest || std::abs(inner / n - 0.5) > kEven) return std::nullopt;
  // Three standard deviations of a Poisson count more, and three where none is.
  const double most = outside + 3.0 * std::sqrt(outside) + 3.0;
  return kInverse * window * most / n;
}

/// The size of residuals [ticks] that no edge of the clock has.
double clip_limit(std::vector<double> sizes, double window) {
  constexpr double kWindows = 1.5;     // a window, and half for the line
  constexpr double kLineError = 0.05;  // of a line within an even window
  const auto jitter = jitter_in_even_window(sizes, window);
  const double wide = std::max(kSigmas * kMadToSigma * median(std::move(sizes)),
                               kWindows * window);
  if (!jitter) return wide;
  return std::min(wide, (0.5 + kLineError) * window + kSigmas * *jitter);
}

/// |residual| of every edge.
std::vector<double> sizes_of(const CycleLine& line,
                             std::span<const NumberedEdge> rise,
                             std::span<const NumberedEdge> fall) {
  std::vector<double> sizes;
  sizes.reserve(rise.size() + fall.size());
  for (const NumberedEdge& e : rise) {
    sizes.push_back(std::abs(residual(e, line.rise_intercept, line.period)));
  }
  for (const NumberedEdge& e : fall) {
    sizes.push_back(std::abs(residual(e, line.fall_intercept, line.period)));
  }
  return sizes;
}

/// Removes the edges for which `goes(tick, |residual|)`; their ticks.
template <class Goes>
std::vector<std::int64_t> clip(const CycleLine& line,
                               std::vector<NumberedEdge>& rise,
                               std::vector<NumberedEdge>& fall,
                               const Goes& goes) {
  std::vector<std::int64_t> removed;
  const auto from = [&](std::vector<NumberedEdge>& edges, double intercept) {
    std::erase_if(edges, [&](const NumberedEdge& e) {
      if (!goes(e.tick, std::abs(residual(e, intercept, line.period)))) {
        return false;
      }
      removed.push_back(e.tick);
      return true;
    });
  };
  from(rise, line.rise_intercept);
  from(fall, line.fall_intercept);
  std::sort(removed.begin(), removed.end());
  return removed;
}

}  // namespace

CycleLine fit_cycle_line(std::span<const NumberedEdge> rise,
                         std::span<const NumberedEdge> fall) {
  const Moments r = moments(rise);
  const Moments f = moments(fall);
  assert(r.kk + f.kk > 0.0);
  CycleLine line;
  line.period = (r.kt + f.kt) / (r.kk + f.kk);
  line.rise_intercept = r.t - line.period * r.k;
  line.fall_intercept =
      fall.empty() ? line.rise_intercept : f.t - line.period * f.k;
  double squares = 0.0;
  for (const NumberedEdge& e : rise) {
    const double d = residual(e, line.rise_intercept, line.period);
    squares += d * d;
  }
  for (const NumberedEdge& e : fall) {
    const double d = residual(e, line.fall_intercept, line.period);
    squares += d * d;
  }
  line.scatter = std::sqrt(squares / (r.n + f.n));
  return line;
}

std::vector<std::int64_t> clip_outliers(std::vector<NumberedEdge>& rise,
                                        std::vector<NumberedEdge>& fall,
                                        double window) {
  if (rise.size() < 3) return {};
  const CycleLine line = fit_cycle_line(rise, fall);
  const double limit = clip_limit(sizes_of(line, rise, fall), window);
  return clip(line, rise, fall,
              [&](std::int64_t, double size) { return size > limit; });
}

std::vector<std::int64_t> clip_suspects(
    std::vector<NumberedEdge>& rise, std::vector<NumberedEdge>& fall,
    const std::vector<std::int64_t>& suspects, double window) {
  constexpr double kClose = 1.5;  // standard deviations
  if (rise.size() < 3 || suspects.empty()) return {};
  const CycleLine line = fit_cycle_line(rise, fall);
  const double limit = std::max(
      kClose * kMadToSigma * median(sizes_of(line, rise, fall)), 0.5 * window);
  return clip(line, rise, fall, [&](std::int64_t tick, double size) {
    return size > limit &&
           std::binary_search(suspects.begin(), suspects.end(), tick);
  });
}

}  // namespace clockassay
