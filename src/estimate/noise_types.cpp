// SPDX-License-Identifier: GPL-3.0-or-later
#include "estimate/noise_types.h"

#include <Eigen/Dense>
#include <algorithm>
#include <boost/math/distributions/students_t.hpp>
#include <cmath>
#include <numbers>
#include <vector>

#include "clockassay/estimate/frequency_estimate.h"

namespace clockassay {
namespace {

/// Half-widths are widened by so much. Chosen: the kinds are five of many, and
/// with white noise of the frequency 93 % would be covered without.
constexpr double kMargin = 1.1;

using Eigen::Index;
using Eigen::MatrixXd;
using Eigen::VectorXd;

/// Flicker is a sum of first-order Markov processes, one an octave, from half
/// the distance of 32 places to four views. Chosen.
constexpr double kShortestMemory = 1.0 / 64.0;
constexpr double kLongestMemory = 4.0;

/// Second antiderivative of exp(-|d|/m).
double decay_twice(double d, double m) {
  return m * m * std::exp(-std::abs(d) / m) + m * std::abs(d);
}

/// Second antiderivative of the covariance of two instants d apart, but for
/// terms that depend on one of them alone: these are no part of what is off a
/// line, nor of a slope.
double kernel_twice(Noise kind, double d) {
  const double cube = std::abs(d * d * d);
  if (kind == Noise::kWhiteFrequency) return -cube / 12.0;         // of -|d|/2
  if (kind == Noise::kWalkFrequency) return cube * d * d / 240.0;  // |d|³/12
  double sum = 0.0;
  for (double m = kLongestMemory; m >= kShortestMemory; m *= 0.5) {
    sum += kind == Noise::kFlickerPhase
               ? decay_twice(d, m)
               // The integral of a process of memory m.
               : -m * cube / 6.0 - m * m * decay_twice(d, m);
  }
  return sum;
}

/// Covariance of the means over two stretches of length `width`, u and v their
/// middles.
double covariance(Noise kind, double u, double v, double width) {
  const double d = v - u;
  const double k =
      (kernel_twice(kind, d + width) - 2.0 * kernel_twice(kind, d) +
       kernel_twice(kind, d - width)) /
      (width * width);
  // The slope is the frequency at the beginning, where the walk begins.
  return kind == Noise::kWalkFrequency ? k + 0.25 * u * v * (u + v) : k;
}

/// Places that say something, each times the root of its weight.
class Places {
 public:
  Places(std::span<const EdgePlace> places, double width) : width_(width) {
    for (const EdgePlace& p : places) {
      if (p.weight > 0.0) used_.push_back(p);
    }
    const auto n = static_cast<Index>(used_.size());
    const bool rise = std::any_of(used_.begin(), used_.end(),
                                  [](const EdgePlace& p) { return !p.fall; });
    const bool fall = std::any_of(used_.begin(), used_.end(),
                                  [](const EdgePlace& p) { return p.fall; });
    parameters_ = 1 + Index(rise) + Index(fall);
    if (n < parameters_ + kFewestLeft) return;
    root_.resize(n);
    design_ = MatrixXd::Zero(n, parameters_);
    VectorXd seen(n);
    for (Index i = 0; i < n; ++i) {
      const EdgePlace& p = used_[static_cast<std::size_t>(i)];
      root_[i] = std::sqrt(p.weight);
      design_(i, 0) = root_[i] * (p.time - 0.5);
      design_(i, p.fall && rise ? 2 : 1) = root_[i];
      seen[i] = root_[i] * p.place;
    }
    const Eigen::HouseholderQR<MatrixXd> qr(design_);
    const MatrixXd q = qr.householderQ();
    left_ = q.rightCols(n - parameters_);
    rest_ = left_.transpose() * seen;
    const MatrixXd normal = design_.transpose() * design_;
    const auto factors = normal.ldlt();
    if (!factors.isPositive() || factors.rcond() < 1e-12) return;
    slope_ = design_ * factors.solve(VectorXd::Unit(parameters_, 0));
    usable_ = true;
  }

  bool usable() const { return usable_; }
  /// Degrees of freedom that the line leaves.
  Index left() const { return left_.cols(); }
  const VectorXd& rest() const { return rest_; }
  /// Variance of the slope from white jitter alone.
  double white_variance() const { return slope_.squaredNorm(); }

  MatrixXd noise(Noise kind) const {
    const auto n = static_cast<Index>(used_.size());
    if (kind == Noise::kShortMemory) return root_.cwiseAbs2().asDiagonal();
    MatrixXd c(n, n);
    for (Index i = 0; i < n; ++i) {
      const double u = used_[static_cast<std::size_t>(i)].time;
      for (Index j = 0; j <= i; ++j) {
        const double v = used_[static_cast<std::size_t>(j)].time;
        c(i, j) = c(j, i) =
            root_[i] * root_[j] * covariance(kind, u, v, width_);
      }
    }
    return c;
  }
  MatrixXd about_line(const MatrixXd& c) const {
    return left_.transpose() * c * left_;
  }
  double slope_variance(const MatrixXd& c) const {
    return slope_.dot(c * slope_);
  }

 private:
  static constexpr Index kFewestLeft = 3;

  std::vector<EdgePlace> used_;
  double width_;
  Index parameters_ = 0;
  bool usable_ = false;
  VectorXd root_;    ///< of the weights
  MatrixXd design_;  ///< slope, intercepts
  MatrixXd left_;    ///< orthonormal, and orthogonal to all lines
  VectorXd rest_;    ///< of the places, off any line
  VectorXd slope_;   ///< slope = this times places
};

/// A kind and an amplitude of noise.
struct Candidate {
  double log_likelihood = 0.0;
  double deviation = 0.0;  ///< of the slope
};

/// Amplitudes of one kind, as variance over that of white jitter, in equal
/// steps of the logarithm, from one that changes nothing to one beside which
/// white jitter is nothing, or that is out of the question.
void add_candidates(const Places& places, Noise kind,
                    const WithinPlaces& within, double dof,
                    std::vector<Candidate>& out) {
  constexpr double kNothing = 0.01, kAll = 100.0, kStep = 1.65;  // chosen
  constexpr double kOut = 20.0;    // chosen: e^-20 of the best
  constexpr double kLevel = 1e-6;  // chosen: rounding, where nothing changes
  constexpr double kLeastEigenvalue = 1e-9;  // chosen: rounding
  const MatrixXd c = places.noise(kind);
  const Eigen::SelfAdjointEigenSolver<MatrixXd> solver(places.about_line(c));
  const double most = solver.eigenvalues().maxCoeff();
  if (!(most > 0.0)) return;
  const VectorXd values =
      solver.eigenvalues().cwiseMax(kLeastEigenvalue * most);
  const VectorXd squares =
      (solver.eigenvectors().transpose() * places.rest()).cwiseAbs2();
  const double slope_variance = places.slope_variance(c);
  double best = -1e300, best_ratio = 0.0;
  for (double ratio = kNothing / most;
       ratio * values.minCoeff() < kAll || ratio < kAll * best_ratio;
       ratio *= kStep) {
    const VectorXd total = (1.0 + ratio * values.array()).matrix();
    const double sum = within.squares + squares.cwiseQuotient(total).sum();
    const double log = -0.5 * (total.array().log().sum() + dof * std::log(sum));
    if (log > best + kLevel) {
      best = log;
      best_ratio = ratio;
    }
    if (log < best - kOut) break;
    out.push_back(
        {log, std::sqrt(sum / dof *
                        (places.white_variance() + ratio * slope_variance))});
  }
}

/// P(|T| > t), Student's T.
double two_tails(double t, double dof) {
  constexpr double kNormal = 1000.0;  // chosen: 95 % points within 0.15 %
  if (dof > kNormal) return std::erfc(t / std::numbers::sqrt2);
  return 2.0 * cdf(complement(boost::math::students_t(dof), t));
}

/// U with Σ weight P(|T| > U/deviation) = 1 - coverage.
double solve_half_width(std::vector<Candidate> candidates, double dof) {
  double best = -1e300, most = 0.0;
  for (const Candidate& c : candidates) {
    best = std::max(best, c.log_likelihood);
  }
  constexpr double kNegligible = 1e-4;  // of 5 %, and there are about a hundred
  std::erase_if(candidates, [&](const Candidate& c) {
    return c.log_likelihood < best + std::log(kNegligible);
  });
  double mass = 0.0;
  for (Candidate& c : candidates) {
    c.log_likelihood = std::exp(c.log_likelihood - best);
    mass += c.log_likelihood;
    most = std::max(most, c.deviation);
  }
  const auto outside = [&](double u) {
    double sum = 0.0;
    for (const Candidate& c : candidates) {
      sum += c.log_likelihood * two_tails(u / c.deviation, dof);
    }
    return sum / mass;
  };
  double high = 2.0 * most;
  while (outside(high) > 1.0 - kHalfWidthCoverage) high *= 2.0;
  double low = 0.0;
  for (int i = 0; i < 24; ++i) {
    const double middle = 0.5 * (low + high);
    (outside(middle) > 1.0 - kHalfWidthCoverage ? low : high) = middle;
  }
  return high;
}

}  // namespace

std::optional<double> noise_half_width(std::span<const EdgePlace> places,
                                       double width, const WithinPlaces& within,
                                       std::span<const Noise> kinds) {
  const Places used(places, width);
  if (!used.usable()) return std::nullopt;
  if (within.squares + used.rest().squaredNorm() <= 0.0) return std::nullopt;
  const double dof = within.dof + static_cast<double>(used.left());
  std::vector<Candidate> candidates;
  for (const Noise kind : kinds) {
    add_candidates(used, kind, within, dof, candidates);
  }
  if (candidates.empty()) return std::nullopt;
  return kMargin * solve_half_width(std::move(candidates), dof);
}

}  // namespace clockassay
