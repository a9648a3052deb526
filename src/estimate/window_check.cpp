// SPDX-License-Identifier: GPL-3.0-or-later
#include "estimate/window_check.h"

#include <Eigen/Dense>
#include <algorithm>
#include <boost/math/distributions/chi_squared.hpp>
#include <cmath>

#include "estimate/likelihood_table.h"

namespace clockassay {
namespace {

constexpr double kOnceIn = 1e-4;  // chosen, were scores normal
/// Chosen: four parts of eight, so that scores are nearly normal.
constexpr double kFewestExact = 32.0;

/// What the line has: two places, a slope, the jitter.
enum { kRise, kFall, kSlope, kInverse, kLine };
constexpr int kBends = 4;  ///< degrees 2 to 5

using Line = Eigen::Matrix<double, kLine, 1>;
using Bends = Eigen::Matrix<double, kBends, 1>;

/// Legendre's polynomials, so that their information is nearly diagonal.
Bends bends_at(double k) {
  Bends b;
  double before = k, now = 0.5 * (3.0 * k * k - 1.0);
  for (int i = 0; i < kBends; ++i) {
    b[i] = now;
    const double n = i + 2.0;
    const double next = ((2.0 * n + 1.0) * k * now - n * before) / (n + 1.0);
    before = now;
    now = next;
  }
  return b;
}

double chi_squared_beyond(double dof) {
  return quantile(complement(boost::math::chi_squared(dof), kOnceIn));
}

/// Rao's score test: the gradient along the bends, against what the curvature
/// leaves of them once the line may move.
bool bends(const std::vector<CellTerms>& terms) {
  constexpr double kUnknown = 1e-3;  // chosen, of the information on a bend
  Bends score = Bends::Zero();
  Eigen::Matrix<double, kLine, kLine> line =
      Eigen::Matrix<double, kLine, kLine>::Zero();
  Eigen::Matrix<double, kLine, kBends> mixed =
      Eigen::Matrix<double, kLine, kBends>::Zero();
  Eigen::Matrix<double, kBends, kBends> bend =
      Eigen::Matrix<double, kBends, kBends>::Zero();
  for (const CellTerms& t : terms) {
    const Bends b = bends_at(t.k);
    Line place = Line::Zero();  // how the place moves with the line
    place[t.fall ? kFall : kRise] = 1.0;
    place[kSlope] = t.k;
    Line jitter = Line::Unit(kInverse);
    const double pp = t.weight * t.place_place;
    const double pi = t.weight * t.place_inverse;
    score += t.weight * t.place * b;
    line += pp * place * place.transpose() +
            pi * (place * jitter.transpose() + jitter * place.transpose()) +
            t.weight * t.inverse_inverse * jitter * jitter.transpose();
    mixed += (pp * place + pi * jitter) * b.transpose();
    bend += pp * b * b.transpose();
  }
  for (int i = 0; i < kLine; ++i) line(i, i) += 1e-300 + 1e-12 * line(i, i);
  const Eigen::Matrix<double, kBends, kBends> left =
      bend - mixed.transpose() * line.ldlt().solve(mixed).eval();
  const Eigen::SelfAdjointEigenSolver<Eigen::Matrix<double, kBends, kBends>>
      solver(left);
  const Bends along = solver.eigenvectors().transpose() * score;
  double squares = 0.0, dof = 0.0;
  for (int i = 0; i < kBends; ++i) {
    const double information = solver.eigenvalues()[i];
    if (!(information > kUnknown * bend.trace())) continue;
    squares += along[i] * along[i] / information;
    dof += 1.0;
  }
  return dof > 0.0 && squares > chi_squared_beyond(dof);
}

/// Whether cells are of edges that were taken together: those of one stretch of
/// cycles hold edges by their place, and only all of them are as the line says.
bool together(const CellTerms& a, const CellTerms& b) {
  const auto group = [](const CellTerms& t) {
    return std::floor(0.5 * (t.k + 1.0) * static_cast<double>(kCycleGroups));
  };
  return std::max(a.weight, b.weight) > 1.0 && group(a) == group(b);
}

/// Scores of parts of equal information, in order, each over its root.
std::vector<double> even_scores(const std::vector<CellTerms>& terms,
                                double exact) {
  constexpr double kMostParts = 16.0, kExactEdges = 8.0;  // chosen
  const double parts = std::min(kMostParts, std::floor(exact / kExactEdges));
  std::vector<double> scores;
  double score = 0.0, part = 0.0;
  for (std::size_t i = 0; i < terms.size(); ++i) {
    const CellTerms& t = terms[i];
    score += t.weight * t.place;
    part += t.weight * t.exact;
    if (part * parts < exact * (1.0 - 1e-9)) continue;
    if (i + 1 < terms.size() && together(t, terms[i + 1])) continue;
    scores.push_back(score / std::sqrt(part));
    score = part = 0.0;
  }
  return scores;
}

bool parts_scatter(const std::vector<CellTerms>& terms, double exact) {
  // Of the squared running sum, by simulation of 16 parts about a line.
  constexpr double kRunningOnceIn10000 = 0.44;
  constexpr double kParameters = 2.0;
  const std::vector<double> scores = even_scores(terms, exact);
  const auto count = static_cast<double>(scores.size());
  if (count < kParameters + 1.0) return false;
  double squares = 0.0, at = 0.0, running = 0.0;
  for (const double s : scores) {
    squares += s * s;
    at += s;
    running += at * at;
  }
  return squares > chi_squared_beyond(count - kParameters) ||
         running > kRunningOnceIn10000 * count * count;
}

}  // namespace

bool contradict_line(std::vector<CellTerms> terms) {
  std::stable_sort(
      terms.begin(), terms.end(),
      [](const CellTerms& a, const CellTerms& b) { return a.k < b.k; });
  double exact = 0.0;
  for (const CellTerms& t : terms) exact += t.weight * t.exact;
  if (exact < kFewestExact) return false;
  return bends(terms) || parts_scatter(terms, exact);
}

void NeighbourScores::add(std::int64_t cycle, bool fall, double score) {
  Last& last = fall ? fall_ : rise_;
  if (cycle == last.cycle + 1) {
    const double product = score * last.score;
    sum_ += product;
    squares_ += product * product;
  }
  last = {cycle, score};
}

double NeighbourScores::statistic() const {
  return squares_ > 0.0 ? sum_ / std::sqrt(squares_) : 0.0;
}

bool NeighbourScores::are_dependent() const {
  constexpr double kDeviations = 4.0;
  return std::abs(statistic()) > kDeviations;
}

}  // namespace clockassay
