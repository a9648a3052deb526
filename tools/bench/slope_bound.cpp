// SPDX-License-Identifier: GPL-3.0-or-later
#include "bench/slope_bound.h"

#include <algorithm>
#include <cmath>
#include <limits>
#include <numbers>
#include <vector>

namespace clockassay {
namespace {

constexpr double kRoot2 = std::numbers::sqrt2;

double upper_tail(double z) {
  return 0.5 * std::erfc(z / kRoot2);
}

double density(double z) {
  return std::exp(-0.5 * z * z) / std::sqrt(2.0 * std::numbers::pi);
}

/// P(low < Z < high), precise in both tails.
double between(double low, double high) {
  return low + high < 0.0 ? upper_tail(-high) - upper_tail(-low)
                          : upper_tail(low) - upper_tail(high);
}

/// Fisher information of place times sigma², of an edge whose true place is
/// `u` of a sample after the sampling instant before it.
double exact_edge(double u, double sigma) {
  double sum = 0.0;
  const int reach = static_cast<int>(std::ceil(8.0 * sigma)) + 1;
  for (int n = -reach; n <= reach + 1; ++n) {
    const double low = (n - 1 - u) / sigma, high = (n - u) / sigma;
    const double p = between(low, high);
    if (p < 1e-300) continue;
    const double d = density(high) - density(low);
    sum += d * d / p;
  }
  return std::min(sum, 1.0);
}

struct Point {
  double k;  ///< cycles from the middle
  double y;  ///< seen, less the true line, so that truth is in (y - 1, y]
};

std::vector<Point> points_of(const std::vector<std::int64_t>& seen,
                             double start, const TrueClock& truth) {
  const double middle = 0.5 * static_cast<double>(seen.size() - 1);
  std::vector<Point> points;
  for (std::size_t i = 0; i < seen.size(); ++i) {
    const auto k = static_cast<double>(i);
    points.push_back(
        {k - middle, static_cast<double>(seen[i]) - start - k * truth.period});
  }
  return points;
}

/// What one polarity's edges are worth.
struct Worth {
  double exact = 0.0;   ///< in edges seen exactly
  double spread = 0.0;  ///< of their cycles, weighted: information of the slope
};

Worth worth_of(const std::vector<Point>& points, double sigma) {
  double w = 0.0, wk = 0.0, wkk = 0.0;
  for (const Point& p : points) {
    const double e = exact_edge(std::ceil(p.y) - p.y, sigma);
    w += e;
    wk += e * p.k;
    wkk += e * p.k * p.k;
  }
  return {w, w > 0.0 ? wkk - wk * wk / w : 0.0};
}

/// ln of the likelihood of one polarity's edges on a line through (0, a) of
/// slope s about the true one.
double log_likelihood(const std::vector<Point>& points, double a, double s,
                      double sigma) {
  double log = 0.0;
  for (const Point& p : points) {
    const double r = p.y - a - s * p.k;
    if (sigma == 0.0) {
      if (r < 0.0 || r >= 1.0) return -1e300;
      continue;
    }
    const double high = r / sigma, low = (r - 1.0) / sigma;
    if (high > 8.0 && low < -8.0) continue;
    const double q = between(low, high);
    if (q < 1e-290) return -1e300;
    log += std::log(q);
  }
  return log;
}

/// ln of the likelihood of a slope, over all intercepts.
double log_over_intercepts(const std::vector<Point>& points, double s,
                           double sigma) {
  // The intercept's own range at this slope: where all windows are nearly met.
  double low = -1e300, high = 1e300;
  for (const Point& p : points) {
    low = std::max(low, p.y - s * p.k - 1.0);
    high = std::min(high, p.y - s * p.k);
  }
  const double margin = 6.0 * sigma;
  const double from = std::min(low, high) - margin;
  const double to = std::max(low, high) + margin;
  if (sigma == 0.0) return high > low ? std::log(high - low) : -1e300;
  constexpr int kSteps = 48;
  std::vector<double> logs;
  for (int i = 0; i <= kSteps; ++i) {
    logs.push_back(
        log_likelihood(points, from + (to - from) * i / kSteps, s, sigma));
  }
  const double top = *std::max_element(logs.begin(), logs.end());
  if (top < -1e299) return -1e300;
  double sum = 0.0;
  for (const double l : logs) sum += std::exp(l - top);
  return top + std::log(sum * (to - from));
}

double bayes_variance(const std::vector<Point>& rise,
                      const std::vector<Point>& fall, double sigma,
                      double reach) {
  // A coarse look for where the likelihood is, then a fine one.
  double from = -reach, to = reach, mean = 0.0, variance = 0.0;
  for (int pass = 0; pass < 4; ++pass) {
    constexpr int kSteps = 40;
    std::vector<double> logs;
    for (int i = 0; i <= kSteps; ++i) {
      const double s = from + (to - from) * i / kSteps;
      logs.push_back(log_over_intercepts(rise, s, sigma) +
                     log_over_intercepts(fall, s, sigma));
    }
    const double top = *std::max_element(logs.begin(), logs.end());
    double mass = 0.0, m1 = 0.0, m2 = 0.0;
    int first = kSteps, last = 0;
    for (int i = 0; i <= kSteps; ++i) {
      const double w = std::exp(logs[static_cast<std::size_t>(i)] - top);
      const double s = from + (to - from) * i / kSteps;
      mass += w;
      m1 += w * s;
      m2 += w * s * s;
      if (w > 1e-6) {
        first = std::min(first, i);
        last = std::max(last, i);
      }
    }
    mean = m1 / mass;
    variance = m2 / mass - mean * mean;
    if (first == 0 && last == kSteps) break;
    const double step = (to - from) / kSteps;
    const double begin = from;
    from = begin + step * (first - 1);
    to = begin + step * (last + 1);
  }
  return variance;
}

}  // namespace

double slope_bound(const SampledEdges& edges, const TrueClock& truth) {
  constexpr double kManyEdges = 100.0, kMostPoints = 2100.0;
  const auto rise = points_of(edges.rises, truth.phase, truth);
  const auto fall =
      points_of(edges.falls, truth.phase + truth.duty * truth.period, truth);
  const auto n = static_cast<double>(edges.rises.size());
  if (truth.sigma > 0.0) {
    const Worth r = worth_of(rise, truth.sigma);
    const Worth f = worth_of(fall, truth.sigma);
    if (r.exact + f.exact >= kManyEdges) {
      return truth.sigma * truth.sigma / (r.spread + f.spread);
    }
    if (n > kMostPoints) return std::numeric_limits<double>::quiet_NaN();
  }
  return bayes_variance(rise, fall, truth.sigma, (2.0 + 8.0 * truth.sigma) / n);
}

}  // namespace clockassay
