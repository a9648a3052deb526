// SPDX-License-Identifier: GPL-3.0-or-later
#include "edges/cycle_line.h"

#include <algorithm>
#include <cassert>
#include <cmath>
#include <utility>

#include "edges/median.h"

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
  constexpr double kSigmas = 6.0;   // chosen: one in 1e9 by chance
  constexpr double kWindows = 1.5;  // a window, and half for the line
  constexpr double kMadToSigma = 1.4826;
  std::vector<std::int64_t> removed;
  if (rise.size() < 3) return removed;
  const CycleLine line = fit_cycle_line(rise, fall);
  std::vector<double> sizes;
  for (const NumberedEdge& e : rise) {
    sizes.push_back(std::abs(residual(e, line.rise_intercept, line.period)));
  }
  for (const NumberedEdge& e : fall) {
    sizes.push_back(std::abs(residual(e, line.fall_intercept, line.period)));
  }
  const double limit = std::max(
      kSigmas * kMadToSigma * median(std::move(sizes)), kWindows * window);
  const auto clip = [&](std::vector<NumberedEdge>& edges, double intercept) {
    std::erase_if(edges, [&](const NumberedEdge& e) {
      if (std::abs(residual(e, intercept, line.period)) <= limit) return false;
      removed.push_back(e.tick);
      return true;
    });
  };
  clip(rise, line.rise_intercept);
  clip(fall, line.fall_intercept);
  std::sort(removed.begin(), removed.end());
  return removed;
}

}  // namespace clockassay
