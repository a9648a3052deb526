// SPDX-License-Identifier: GPL-3.0-or-later
#include "clockassay/estimate/edge_line.h"

#include <boost/multiprecision/cpp_int.hpp>
#include <cassert>
#include <cmath>
#include <cstdint>

namespace clockassay {
namespace {

/// Wide enough for whatever sums of 128 bits: no memory is asked for. Moments
/// are below 2^255 each, of both polarities below 2^320, and the largest
/// product is of two of the latter and one of the former.
using Integer = boost::multiprecision::number<
    boost::multiprecision::cpp_int_backend<
        1024, 1024, boost::multiprecision::signed_magnitude,
        boost::multiprecision::unchecked, void>,
    boost::multiprecision::et_off>;

/// n (sum(a b) - sum(a) sum(b) / n), exactly.
Integer central(Int128 ab, Int128 a_sum, Int128 b_sum, std::int64_t n) {
  return Integer(ab) * n - Integer(a_sum) * Integer(b_sum);
}

/// n times the central second moments of n points.
struct Moments {
  Integer kk, ky, yy;

  explicit Moments(const LineSums& s)
      : kk(central(s.kk, s.k, s.k, s.n)),
        ky(central(s.ky, s.k, s.y, s.n)),
        yy(central(s.yy, s.y, s.y, s.n)) {}
};

/// numerator / denominator, rounded once. In: denominator > 0; the ratio is
/// far from the least and the largest of doubles
double ratio(const Integer& numerator, const Integer& denominator) {
  assert(denominator > 0);
  if (numerator == 0) return 0.0;
  const bool negative = numerator < 0;
  Integer rest = negative ? Integer(-numerator) : numerator;
  Integer divisor = denominator;
  // A quotient of 63 or 64 bits: more than a double's, the rest below them.
  const int shift =
      63 - static_cast<int>(msb(rest)) + static_cast<int>(msb(divisor));
  if (shift > 0) {
    rest <<= shift;
  } else {
    divisor <<= -shift;
  }
  Integer quotient, remainder;
  divide_qr(rest, divisor, quotient, remainder);
  // The last bit stands for all below it.
  auto bits = static_cast<std::uint64_t>(quotient);
  if (remainder != 0) bits |= 1;
  const double size = std::ldexp(static_cast<double>(bits), -shift);
  return negative ? -size : size;
}

/// (sum(y) - slope sum(k)) / n, slope = ky / kk.
double intercept(const LineSums& s, const Integer& ky, const Integer& kk) {
  return ratio(Integer(s.y) * kk - ky * Integer(s.k), kk * s.n);
}

}  // namespace

Result<LineFit> fit_line(const LineSums& rise, const LineSums& fall) {
  // Numerators; the denominators are rise.n and fall.n, and `both` of sums.
  const Moments r(rise), f(fall);
  const Integer rise_n(rise.n), fall_n(fall.n > 0 ? fall.n : 1);
  const Integer both = rise_n * fall_n;
  const Integer kk = r.kk * fall_n + f.kk * rise_n;
  if (rise.n == 0 || kk <= 0) {
    return failure(ErrorCode::kTooFewEdges,
                   "a line needs edges of at least two different cycles");
  }
  const Integer ky = r.ky * fall_n + f.ky * rise_n;
  const Integer yy = r.yy * fall_n + f.yy * rise_n;
  LineFit fit;
  fit.slope = ratio(ky, kk);
  fit.rise_intercept = intercept(rise, ky, kk);
  if (fall.n > 0) fit.fall_intercept = intercept(fall, ky, kk);
  // yy - slope ky
  fit.residual_squares = ratio(yy * kk - ky * ky, both * kk);
  // yy - 2 slope ky + slope² kk, with the moments of the rising edges
  fit.rise_residual_squares = ratio(
      r.yy * kk * kk - 2 * ky * r.ky * kk + ky * ky * r.kk, rise_n * kk * kk);
  fit.slope_variance = ratio(both, kk);
  fit.dof = rise.n + fall.n - 2 - (fall.n > 0 ? 1 : 0);
  return fit;
}

}  // namespace clockassay
