// SPDX-License-Identifier: GPL-3.0-or-later
#include "drift/least_squares.h"

#include <Eigen/QR>
#include <cassert>
#include <cmath>

namespace clockassay {
namespace {

using Eigen::Index;
using Matrix = Eigen::Matrix<Real, Eigen::Dynamic, Eigen::Dynamic>;
using Vector = Eigen::Matrix<Real, Eigen::Dynamic, 1>;

// A column counts as one of its own if it stands out of the others by more than
// rounding of temperatures that are doubles. Chosen: 4096 of their last places.
constexpr Real kLeastPivot = 0x1p-40L;

// Column j of the design over the standard deviation of each point.
Matrix weighted(const Columns& design, const Vector& deviation) {
  Matrix a(deviation.size(), static_cast<Index>(design.size()));
  for (Index j = 0; j < a.cols(); ++j) {
    for (Index i = 0; i < a.rows(); ++i) {
      a(i, j) =
          design[static_cast<std::size_t>(j)][static_cast<std::size_t>(i)] /
          deviation(i);
    }
  }
  return a;
}

// P R^-1 Q^T of A P = Q R, without a square of the number of points.
Matrix pseudo_inverse(const Eigen::ColPivHouseholderQR<Matrix>& qr,
                      Index points, Index parameters) {
  const Matrix thin = qr.householderQ() * Matrix::Identity(points, parameters);
  const Matrix r = qr.matrixR().topRows(parameters);
  return qr.colsPermutation() *
         r.triangularView<Eigen::Upper>().solve(thin.transpose());
}

}  // namespace

std::optional<LinearFit> solve_weighted(const Columns& design,
                                        std::span<const Real> response,
                                        std::span<const Real> variance) {
  assert(response.size() == variance.size());
  const Index points = static_cast<Index>(response.size());
  const Index parameters = static_cast<Index>(design.size());
  if (parameters == 0 || points < parameters) return std::nullopt;
  Vector deviation(points), b(points);
  for (Index i = 0; i < points; ++i) {
    const std::size_t at = static_cast<std::size_t>(i);
    deviation(i) = std::sqrt(variance[at]);
    b(i) = response[at] / deviation(i);
  }
  const Matrix a = weighted(design, deviation);
  Eigen::ColPivHouseholderQR<Matrix> qr(a);
  qr.setThreshold(kLeastPivot);
  if (qr.rank() < parameters) return std::nullopt;
  const Vector beta = qr.solve(b);
  const Matrix inverse = pseudo_inverse(qr, points, parameters);
  LinearFit fit;
  fit.parameters.assign(beta.data(), beta.data() + parameters);
  fit.weights.assign(static_cast<std::size_t>(parameters),
                     std::vector<Real>(response.size()));
  const Vector left = b - a * beta;
  for (Index i = 0; i < points; ++i) {
    const std::size_t at = static_cast<std::size_t>(i);
    for (Index j = 0; j < parameters; ++j) {
      fit.weights[static_cast<std::size_t>(j)][at] =
          inverse(j, i) / deviation(i);
    }
    fit.residuals.push_back(left(i) * deviation(i));
    fit.leverage.push_back(a.row(i).dot(inverse.col(i)));
  }
  fit.chi_squared = left.squaredNorm();
  return fit;
}

}  // namespace clockassay
