// SPDX-License-Identifier: GPL-3.0-or-later
#include "estimate/window_likelihood.h"

#include <Eigen/Dense>
#include <algorithm>
#include <cmath>
#include <span>
#include <utility>

#include "estimate/interval_probability.h"

namespace clockassay {
namespace {

/// Edges this many sigma inside both ends of their window say nothing:
/// the probability of leaving it is 1e-15. Chosen: below double precision.
constexpr double kSilent = 8.0;

/// The parameters in which the likelihood is concave.
enum { kRise, kFall, kSlope, kInverse, kCount };
using Vector = Eigen::Matrix<double, kCount, 1>;
using Matrix = Eigen::Matrix<double, kCount, kCount>;

struct Climb {
  double log = 0.0;
  Vector gradient = Vector::Zero();
  Matrix bend = Matrix::Zero();  ///< minus the matrix of second derivatives
};

Vector concave(const JitterLine& line) {
  const double inverse = 1.0 / line.sigma;
  return Vector(line.rise * inverse, line.fall * inverse, line.slope * inverse,
                inverse);
}

JitterLine line_of(const Vector& at) {
  const double sigma = 1.0 / at[kInverse];
  return {at[kRise] * sigma, at[kFall] * sigma, at[kSlope] * sigma, sigma};
}

/// Upper and lower end of a cell's window, from the line, in sigma.
std::pair<double, double> ends(const LikelihoodCell& c, const Vector& at) {
  const double high =
      at[kInverse] * c.y - at[c.fall ? kFall : kRise] - at[kSlope] * c.k;
  return {high - at[kInverse], high};
}

/// All but what the edges are worth. In: p  of the ends of its window;
/// `squares` of the gradient in the bend, 1 for all of it.
CellTerms terms_of(const LikelihoodCell& c, double low, double high,
                   const IntervalProbability& p, double squares) {
  // Ends move with (place, inverse) as (-1, y) and (-1, y - 1).
  const double f = p.high - p.low;
  const double fy = p.high * c.y - p.low * (c.y - 1.0);
  const double h = p.high * high - p.low * low;
  const double hy = p.high * high * c.y - p.low * low * (c.y - 1.0);
  const double hyy =
      p.high * high * c.y * c.y - p.low * low * (c.y - 1.0) * (c.y - 1.0);
  CellTerms t;
  t.k = c.k;
  t.weight = c.weight;
  t.fall = c.fall;
  t.place = -f;
  t.inverse = fy;
  t.place_place = h + squares * f * f;
  t.place_inverse = -(hy + squares * f * fy);
  t.inverse_inverse = hyy + squares * fy * fy;
  return t;
}

/// `uphill`: leaves out of the bend what makes it no longer a peak's, that an
/// edge off its line is the likelier another's: steps by it go uphill always.
void add(const LikelihoodCell& c, const Vector& at, double alien, bool uphill,
         Climb& sum) {
  const auto [low, high] = ends(c, at);
  if (high > kSilent && low < -kSilent) return;
  const IntervalProbability p = interval_probability(low, high, alien);
  const double squares = uphill && p.own > 0.0 ? 1.0 / p.own : 1.0;
  const CellTerms t = terms_of(c, low, high, p, squares);
  const int place = c.fall ? kFall : kRise;
  const double w = c.weight, k = c.k;
  sum.log += w * p.log;
  sum.gradient[place] += w * t.place;
  sum.gradient[kSlope] += w * t.place * k;
  sum.gradient[kInverse] += w * t.inverse;
  const double pp = w * t.place_place, pi = w * t.place_inverse;
  sum.bend(place, place) += pp;
  sum.bend(place, kSlope) += pp * k;
  sum.bend(kSlope, kSlope) += pp * k * k;
  sum.bend(place, kInverse) += pi;
  sum.bend(kSlope, kInverse) += pi * k;
  sum.bend(kInverse, kInverse) += w * t.inverse_inverse;
}

Climb climb_at(std::span<const LikelihoodCell> cells, const Vector& at,
               double alien, bool uphill) {
  Climb sum;
  for (const LikelihoodCell& c : cells) add(c, at, alien, uphill, sum);
  sum.bend = sum.bend.selfadjointView<Eigen::Upper>();
  return sum;
}

/// Newton's step among directions `basis`, made a step uphill where the
/// likelihood hardly bends.
template <class Basis>
Vector newton_step(const Climb& climb, const Basis& basis) {
  auto bend = (basis.transpose() * climb.bend * basis).eval();
  const double trace = bend.trace();
  for (Eigen::Index i = 0; i < bend.rows(); ++i) {
    bend(i, i) += 1e-10 * bend(i, i) + 1e-12 * trace + 1e-300;
  }
  const auto gradient = (basis.transpose() * climb.gradient).eval();
  return basis * bend.ldlt().solve(gradient).eval();
}

template <class Basis>
LikelihoodPeak climb(std::span<const LikelihoodCell> cells, double alien,
                     Vector at, const Basis& basis, double largest_inverse) {
  constexpr int kMostSteps = 100, kMostHalvings = 40;  // chosen: never reached
  // Chosen: of a log likelihood; a hundredth changes no interval. Where slope
  // and jitter are told apart by nothing the climb would hardly end.
  constexpr double kFlat = 1e-2;
  LikelihoodPeak peak;
  Climb here = climb_at(cells, at, alien, true);
  for (int i = 0; i < kMostSteps && !peak.converged; ++i) {
    const Vector step = newton_step(here, basis);
    const double gain = step.dot(here.gradient);
    if (!(gain > kFlat) || here.log > -kFlat) {
      peak.converged = true;
      break;
    }
    double part = 1.0;
    if (step[kInverse] > 0.0) {
      part = std::min(part, (largest_inverse - at[kInverse]) / step[kInverse]);
    }
    bool moved = false;
    for (int h = 0; h < kMostHalvings && !moved; ++h, part *= 0.5) {
      const Vector next = at + part * step;
      if (next == at) break;
      if (next[kInverse] <= 0.0) continue;
      // With all that the next step needs: the first part tried is the rule.
      const Climb there = climb_at(cells, next, alien, true);
      if (there.log < here.log + 1e-4 * part * gain) continue;
      at = next;
      here = there;
      moved = true;
    }
    if (!moved) {
      // Nothing gained along the way up: rounding, or the least sigma.
      peak.converged = true;
      break;
    }
  }
  peak.line = line_of(at);
  peak.log = here.log;
  return peak;
}

/// Information on place of one edge at this line, in edges seen exactly, over
/// all the windows it might have been seen in.
double exact_edge(const LikelihoodCell& c, const Vector& at, double alien) {
  auto [low, high] = ends(c, at);
  const double step = at[kInverse];
  const double most = std::ceil((kSilent + high) / step);
  double sum = 0.0;
  for (high -= most * step; high < kSilent + step; high += step) {
    low = high - step;
    const IntervalProbability p = interval_probability(low, high, alien);
    sum += std::exp(p.log) * (p.high - p.low) * (p.high - p.low);
  }
  return std::min(sum, 1.0);
}

bool is_silent(const LikelihoodCell& c, const Vector& at) {
  const auto [low, high] = ends(c, at);
  return high > kSilent && low < -kSilent;
}

}  // namespace

WindowLikelihood::WindowLikelihood(std::vector<LikelihoodCell> cells,
                                   double least_sigma, double alien)
    : cells_(std::move(cells)), least_sigma_(least_sigma), alien_(alien) {
  has_fall_ = std::any_of(cells_.begin(), cells_.end(),
                          [](const LikelihoodCell& c) { return c.fall; });
}

WindowLikelihood WindowLikelihood::only(Polarity polarity) const {
  std::vector<LikelihoodCell> cells;
  for (LikelihoodCell c : cells_) {
    if (c.fall != (polarity == Polarity::kFalling)) continue;
    c.fall = false;
    cells.push_back(c);
  }
  return WindowLikelihood(std::move(cells), least_sigma_, alien_);
}

/// Where edges may be another's there are peaks with more jitter and fewer of
/// such edges, or the other way round. With little jitter edges out of their
/// windows are another's wherever the line is; with more they pull at it.
template <class Basis>
LikelihoodPeak WindowLikelihood::highest(const JitterLine& start,
                                         const Basis& basis) const {
  const double largest_inverse = 1.0 / least_sigma_;
  LikelihoodPeak best =
      climb(cells_, alien_, concave(start), basis, largest_inverse);
  if (alien_ <= 0.0) return best;
  for (const double sigma : {0.2, 0.05, 0.0125}) {  // chosen: by fours
    JitterLine again = best.line;
    again.sigma = std::max(sigma, least_sigma_);
    const LikelihoodPeak other =
        climb(cells_, alien_, concave(again), basis, largest_inverse);
    if (other.log > best.log) best = other;
  }
  return best;
}

LikelihoodPeak WindowLikelihood::peak(const JitterLine& start) const {
  if (has_fall_) return highest(start, Matrix::Identity());
  Eigen::Matrix<double, kCount, 3> basis;
  basis << Vector::Unit(kRise), Vector::Unit(kSlope), Vector::Unit(kInverse);
  return highest(start, basis);
}

LikelihoodPeak WindowLikelihood::peak_at_slope(const JitterLine& start) const {
  Vector inverse = Vector::Unit(kInverse);
  inverse[kSlope] = start.slope;
  if (has_fall_) {
    Eigen::Matrix<double, kCount, 3> basis;
    basis << Vector::Unit(kRise), Vector::Unit(kFall), inverse;
    return highest(start, basis);
  }
  Eigen::Matrix<double, kCount, 2> basis;
  basis << Vector::Unit(kRise), inverse;
  return highest(start, basis);
}

LikelihoodPeak WindowLikelihood::peak_at_sigma(const JitterLine& start) const {
  // Only lines move: no peaks of more or less jitter are looked for.
  const double largest_inverse = 1.0 / least_sigma_;
  if (has_fall_) {
    Eigen::Matrix<double, kCount, 3> basis;
    basis << Vector::Unit(kRise), Vector::Unit(kFall), Vector::Unit(kSlope);
    return climb(cells_, alien_, concave(start), basis, largest_inverse);
  }
  Eigen::Matrix<double, kCount, 2> basis;
  basis << Vector::Unit(kRise), Vector::Unit(kSlope);
  return climb(cells_, alien_, concave(start), basis, largest_inverse);
}

/// Of what moves with the parameters as `answer` says.
template <class Direction>
std::optional<double> WindowLikelihood::variance(
    const JitterLine& line, const Direction& answer) const {
  Matrix bend = climb_at(cells_, concave(line), alien_, false).bend;
  if (!has_fall_) bend(kFall, kFall) = 1.0;
  const Eigen::LDLT<Matrix> factors(bend);
  if (factors.info() != Eigen::Success || !factors.isPositive()) {
    return std::nullopt;
  }
  const double variance = answer.dot(factors.solve(answer));
  if (!std::isfinite(variance) || variance <= 0.0) return std::nullopt;
  return variance;
}

std::optional<double> WindowLikelihood::slope_variance(
    const JitterLine& line) const {
  Vector answer = Vector::Zero();
  answer[kSlope] = line.sigma;
  answer[kInverse] = -line.slope * line.sigma;
  return variance(line, answer);
}

std::optional<double> WindowLikelihood::sigma_variance(
    const JitterLine& line) const {
  Vector answer = Vector::Zero();
  answer[kInverse] = -line.sigma * line.sigma;
  return variance(line, answer);
}

double WindowLikelihood::exact_edges(const JitterLine& line) const {
  const Vector at = concave(line);
  double sum = 0.0;
  for (const LikelihoodCell& c : cells_) {
    if (!is_silent(c, at)) sum += c.weight * exact_edge(c, at, alien_);
  }
  return sum;
}

std::vector<PartScore> WindowLikelihood::scores(const JitterLine& line,
                                                std::size_t parts) const {
  const Vector at = concave(line);
  const double inverse = at[kInverse];
  std::vector<PartScore> scores(parts);
  for (const LikelihoodCell& c : cells_) {
    if (is_silent(c, at)) continue;
    const auto [low, high] = ends(c, at);
    const IntervalProbability p = interval_probability(low, high, alien_);
    const double place = 0.5 * (c.k + 1.0) * static_cast<double>(parts);
    const auto part = static_cast<std::size_t>(
        std::clamp(place, 0.0, static_cast<double>(parts) - 1.0));
    scores[part].score -= c.weight * (p.high - p.low) * inverse;
    scores[part].information +=
        c.weight * exact_edge(c, at, alien_) * inverse * inverse;
  }
  return scores;
}

std::vector<CellTerms> WindowLikelihood::terms(const JitterLine& line) const {
  const Vector at = concave(line);
  std::vector<CellTerms> all;
  for (const LikelihoodCell& c : cells_) {
    if (is_silent(c, at)) continue;
    const auto [low, high] = ends(c, at);
    all.push_back(
        terms_of(c, low, high, interval_probability(low, high, alien_), 1.0));
    all.back().exact = exact_edge(c, at, alien_);
  }
  return all;
}

}  // namespace clockassay
