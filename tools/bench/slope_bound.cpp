// SPDX-License-Identifier: GPL-3.0-or-later
#include "bench/slope_bound.h"

#include <Eigen/Dense>
#include <algorithm>
#include <cmath>
#include <limits>
#include <numbers>
#include <optional>
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

/// Fisher information that one edge carries, times sigma²: of its place, of
/// sigma, and of both.
struct EdgeWorth {
  double place = 0.0, sigma = 0.0, both = 0.0;
};

/// Of an edge whose true place is `u` of a sample after the sampling instant
/// before it.
EdgeWorth edge_worth(double u, double sigma) {
  EdgeWorth worth;
  const int reach = static_cast<int>(std::ceil(8.0 * sigma)) + 1;
  for (int n = -reach; n <= reach + 1; ++n) {
    const double low = (n - 1 - u) / sigma, high = (n - u) / sigma;
    const double p = between(low, high);
    if (p < 1e-300) continue;
    const double d = density(high) - density(low);
    const double h = high * density(high) - low * density(low);
    worth.place += d * d / p;
    worth.sigma += h * h / p;
    worth.both += d * h / p;
  }
  return worth;
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

enum { kRise, kFall, kSlope, kSigma, kParameters };
using Information = Eigen::Matrix<double, kParameters, kParameters>;

/// Adds the information of one polarity's edges, times sigma²; returns what
/// they are worth in edges seen exactly.
double add_worth(const std::vector<Point>& points, double sigma, int polarity,
                 Information& sum) {
  double exact = 0.0;
  for (const Point& p : points) {
    const EdgeWorth e = edge_worth(std::ceil(p.y) - p.y, sigma);
    exact += e.place;
    sum(polarity, polarity) += e.place;
    sum(polarity, kSlope) += e.place * p.k;
    sum(kSlope, kSlope) += e.place * p.k * p.k;
    sum(polarity, kSigma) += e.both;
    sum(kSlope, kSigma) += e.both * p.k;
    sum(kSigma, kSigma) += e.sigma;
  }
  return exact;
}

/// Cramer and Rao's bound of the slope, the jitter not being known; absent
/// where the edges do not tell it, for then the bound does not hold.
std::optional<double> information_bound(const std::vector<Point>& rise,
                                        const std::vector<Point>& fall,
                                        double sigma) {
  constexpr double kManyEdges = 100.0;
  constexpr double kToldSigma = 0.02;  // chosen: variance over sigma²
  Information sum = Information::Zero();
  const double exact =
      add_worth(rise, sigma, kRise, sum) + add_worth(fall, sigma, kFall, sum);
  if (exact < kManyEdges) return std::nullopt;
  const Information whole = sum.selfadjointView<Eigen::Upper>();
  const Eigen::FullPivLU<Information> lu(whole);
  if (!lu.isInvertible()) return std::nullopt;
  const Information inverse = lu.inverse();
  if (!(inverse(kSigma, kSigma) < kToldSigma)) return std::nullopt;
  return sigma * sigma * inverse(kSlope, kSlope);
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
  constexpr double kMostPoints = 2100.0;
  const auto rise = points_of(edges.rises, truth.phase, truth);
  const auto fall =
      points_of(edges.falls, truth.phase + truth.duty * truth.period, truth);
  const auto n = static_cast<double>(edges.rises.size());
  if (truth.sigma > 0.0) {
    if (const auto bound = information_bound(rise, fall, truth.sigma)) {
      return *bound;
    }
    if (n > kMostPoints) return std::numeric_limits<double>::quiet_NaN();
  }
  return bayes_variance(rise, fall, truth.sigma, (2.0 + 8.0 * truth.sigma) / n);
}

}  // namespace clockassay
