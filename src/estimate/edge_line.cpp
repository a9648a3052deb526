// SPDX-License-Identifier: GPL-3.0-or-later
#include "clockassay/estimate/edge_line.h"

#include <boost/multiprecision/cpp_int.hpp>

namespace clockassay {
namespace {

using Exact = boost::multiprecision::cpp_rational;
using Integer = boost::multiprecision::cpp_int;

/// sum(a b) - sum(a) sum(b) / n, exactly.
Exact central(Int128 ab, Int128 a_sum, Int128 b_sum, std::int64_t n) {
  if (n == 0) return Exact(0);
  return Exact(Integer(ab) * n - Integer(a_sum) * Integer(b_sum), Integer(n));
}

Exact intercept(const LineSums& s, const Exact& slope) {
  return (Exact(Integer(s.y)) - slope * Exact(Integer(s.k))) / s.n;
}

}  // namespace

Result<LineFit> fit_line(const LineSums& rise, const LineSums& fall) {
  const Exact rise_kk = central(rise.kk, rise.k, rise.k, rise.n);
  const Exact kk = rise_kk + central(fall.kk, fall.k, fall.k, fall.n);
  if (rise.n == 0 || kk <= 0) {
    return failure(ErrorCode::kTooFewEdges,
                   "a line needs edges of at least two different cycles");
  }
  const Exact rise_ky = central(rise.ky, rise.k, rise.y, rise.n);
  const Exact ky = rise_ky + central(fall.ky, fall.k, fall.y, fall.n);
  const Exact rise_yy = central(rise.yy, rise.y, rise.y, rise.n);
  const Exact yy = rise_yy + central(fall.yy, fall.y, fall.y, fall.n);
  const Exact slope = ky / kk;
  LineFit fit;
  fit.slope = slope.convert_to<double>();
  fit.rise_intercept = intercept(rise, slope).convert_to<double>();
  if (fall.n > 0) {
    fit.fall_intercept = intercept(fall, slope).convert_to<double>();
  }
  const Exact residual_squares = yy - slope * ky;
  fit.residual_squares = residual_squares.convert_to<double>();
  const Exact rise_squares =
      rise_yy - 2 * slope * rise_ky + slope * slope * rise_kk;
  fit.rise_residual_squares = rise_squares.convert_to<double>();
  fit.slope_variance = Exact(1 / kk).convert_to<double>();
  fit.dof = rise.n + fall.n - 2 - (fall.n > 0 ? 1 : 0);
  return fit;
}

}  // namespace clockassay
