// SPDX-License-Identifier: GPL-3.0-or-later
#include "verdict/other_factor.h"

#include <algorithm>
#include <cmath>
#include <cstdint>
#include <utility>

#include "clockassay/base/simplest_fraction.h"

namespace clockassay {
namespace {

// Chosen: longer than any divider counts.
constexpr double kLargest = 1e6;

std::optional<OtherFactor> instead_of(const PathFactor& factor,
                                      double measured) {
  if (!factor.value.is_integer()) return std::nullopt;
  const double n = factor.value.to_double();
  const double wanted = factor.divides ? n / measured : n * measured;
  // One is a factor that is missing.
  if (!(wanted >= 1.5 && wanted <= kLargest)) return std::nullopt;
  const Rational m(static_cast<std::int64_t>(std::llround(wanted)));
  const auto ratio =
      factor.divides ? divide(factor.value, m) : divide(m, factor.value);
  if (!ratio || *ratio == Rational(1)) return std::nullopt;
  OtherFactor other;
  other.ratio = *ratio;
  other.share = 1.0 / (m.to_double() * std::log(kLargest));
  other.words = (factor.divides ? "divider " : "multiplier ") +
                factor.value.to_string() + " is " + m.to_string();
  return other;
}

std::optional<OtherFactor> simplest(double measured, double reach) {
  const auto ratio = simplest_fraction(measured - reach, measured + reach);
  if (!ratio || *ratio == Rational(1)) return std::nullopt;
  // Fractions up to n are some 0.6 n^2, of n alone 1.2 n: one of them comes up
  // as often as n does, one in n^2, over that.
  const double n = std::max(static_cast<double>(ratio->num()),
                            static_cast<double>(ratio->den()));
  OtherFactor other;
  other.ratio = *ratio;
  other.share = 1.0 / (1.2 * n * n * n);
  return other;
}

}  // namespace

std::vector<OtherFactor> find_other_factors(const ClockPath& path,
                                            double measured, double reach) {
  std::vector<OtherFactor> all;
  if (reach >= measured) return all;  // fits anything
  for (std::size_t i = 0; i < path.factors.size(); ++i) {
    auto other = instead_of(path.factors[i], measured);
    if (!other || std::abs(other->ratio.to_double() - measured) > reach) {
      continue;
    }
    other->share /= static_cast<double>(path.factors.size());
    other->factor = i;
    all.push_back(*std::move(other));
  }
  auto simple = simplest(measured, reach);
  if (!simple) return all;
  const auto same = [&](const OtherFactor& o) {
    return o.ratio == simple->ratio;
  };
  const auto members = std::count_if(all.begin(), all.end(), same);
  for (OtherFactor& o : all) {
    if (same(o)) o.share += simple->share / static_cast<double>(members);
  }
  if (members == 0) all.push_back(*std::move(simple));
  return all;
}

}  // namespace clockassay
