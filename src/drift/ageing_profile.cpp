// SPDX-License-Identifier: GPL-3.0-or-later
#include "drift/ageing_profile.h"

#include <algorithm>
#include <cmath>
#include <limits>
#include <utility>

#include "drift/curve_row.h"
#include "drift/significance.h"

namespace clockassay {
namespace {

constexpr double kEvident = 0.01;  // as for the terms of a curve
constexpr double kOpen = 0.05;     // rates that 95 % leave open

// B t_last looked at: below, the law is straight to 1 in 200 of its rise;
// above, it is A ln t to that at a thousandth of t_last. Eight to a decade:
// chosen.
constexpr double kLeastProduct = 1e-2;
constexpr double kMostProduct = 1e5;
constexpr int kPerDecade = 8;
constexpr int kDecades = 7;
constexpr int kRefinements = 60;  // golden section: far below any uncertainty

struct Tried {
  AgeingRate rate;
  Real chi_squared = 0.0L;
  Real slope = 0.0L;
};

class Profile {
 public:
  explicit Profile(const AgeingProblem& problem) : problem_(problem) {
    last_s_ = *std::max_element(problem.time_s.begin(), problem.time_s.end());
  }
  double last_days() const { return last_s_ / kSecondsPerDay; }
  std::vector<Real> column(AgeingRate rate) const {
    std::vector<Real> column;
    for (const double t : problem_.time_s) {
      column.push_back(ageing_term(rate, t, last_s_));
    }
    return column;
  }
  std::optional<Tried> at(AgeingRate rate) const {
    Columns design = problem_.base;
    design.push_back(column(rate));
    const auto fit =
        solve_weighted(design, problem_.response, problem_.variance);
    if (!fit) return std::nullopt;
    return Tried{rate, fit->chi_squared, fit->parameters.back()};
  }

 private:
  const AgeingProblem& problem_;
  double last_s_ = 0.0;
};

// By rising rate, the limits at both ends; ln t needs times above zero.
std::vector<Tried> over_all_rates(const Profile& profile, bool with_infinity) {
  std::vector<AgeingRate> rates = {{0.0}};
  for (int i = 0; i <= kDecades * kPerDecade; ++i) {
    const double product =
        kLeastProduct *
        std::pow(kMostProduct / kLeastProduct,
                 static_cast<double>(i) / (kDecades * kPerDecade));
    rates.push_back({product / profile.last_days()});
  }
  if (with_infinity) {
    rates.push_back({std::numeric_limits<double>::infinity()});
  }
  std::vector<Tried> tried;
  for (const AgeingRate rate : rates) {
    if (const auto one = profile.at(rate)) tried.push_back(*one);
  }
  return tried;
}

// Golden section between the neighbours of the best rate, in its logarithm.
Tried refined(const Profile& profile, const std::vector<Tried>& tried,
              std::size_t best) {
  if (best < 2 || best + 2 >= tried.size()) return tried[best];
  constexpr double kGolden = 0.6180339887498949;  // (sqrt 5 - 1)/2
  double low = std::log(tried[best - 1].rate.per_day);
  double high = std::log(tried[best + 1].rate.per_day);
  Tried found = tried[best];
  for (int i = 0; i < kRefinements; ++i) {
    const double a = high - kGolden * (high - low);
    const double b = low + kGolden * (high - low);
    const auto left = profile.at({std::exp(a)});
    const auto right = profile.at({std::exp(b)});
    if (!left || !right) break;
    const bool to_left = left->chi_squared < right->chi_squared;
    (to_left ? high : low) = to_left ? b : a;
    const Tried& better = to_left ? *left : *right;
    if (better.chi_squared < found.chi_squared) found = better;
  }
  return found;
}

// How much worse than the best a rate may fit.
Real open_margin(Real left, int dof, bool scale_known) {
  if (scale_known) {
    return chi_squared_limit(kOpen, 1);
  }
  return left / dof * f_limit(kOpen, 1, dof);
}

// 1 - R^2 of the ageing column against the others, weighted as the points are.
double separable_share(const AgeingProblem& problem,
                       const std::vector<Real>& column) {
  const auto fit = solve_weighted(problem.base, column, problem.variance);
  const Columns constant = {std::vector<Real>(column.size(), 1.0L)};
  const auto mean = solve_weighted(constant, column, problem.variance);
  if (!fit || !mean || !(mean->chi_squared > 0.0L)) return 0.0;
  return static_cast<double>(
      std::min(1.0L, fit->chi_squared / mean->chi_squared));
}

// The nearest rates tried on either side that do not fit as well; an end is
// open where all do up to the limit.
void limit_rate(const std::vector<Tried>& tried, Real most, Ageing& ageing) {
  for (const Tried& t : tried) {
    if (t.chi_squared <= most || t.rate.per_day >= ageing.rate.per_day) break;
    if (t.rate.per_day > 0.0) ageing.low_per_day = t.rate.per_day;
  }
  for (auto t = tried.rbegin(); t != tried.rend(); ++t) {
    if (t->chi_squared <= most || t->rate.per_day <= ageing.rate.per_day) break;
    if (std::isfinite(t->rate.per_day)) ageing.high_per_day = t->rate.per_day;
  }
}

// The limits and every fourth between, the nearest to the best replaced by it.
std::vector<AgeingRate> rates_for_band(const std::vector<Tried>& tried,
                                       AgeingRate best) {
  constexpr std::size_t kEvery = 4;
  std::vector<AgeingRate> rates;
  for (std::size_t i = 0; i < tried.size(); ++i) {
    if (i <= 1 || i + 1 == tried.size() || (i - 1) % kEvery == 0) {
      rates.push_back(tried[i].rate);
    }
  }
  const auto above = std::lower_bound(
      rates.begin(), rates.end(), best.per_day,
      [](AgeingRate r, double per_day) { return r.per_day < per_day; });
  if (above == rates.end()) {
    rates.push_back(best);
  } else if (above->per_day != best.per_day) {
    *above = best;
  }
  return rates;
}

// How far the worst told of all rates that fit is told from the base; those
// that are told are for the band.
void keep_separable(const AgeingProblem& problem, const Profile& profile,
                    const std::vector<Tried>& tried, Real most,
                    Ageing& ageing) {
  const auto share = [&](AgeingRate rate) {
    return separable_share(problem, profile.column(rate));
  };
  ageing.separable = share(ageing.rate);
  for (const Tried& t : tried) {
    if (t.chi_squared > most) continue;
    ageing.separable = std::min(ageing.separable, share(t.rate));
  }
  for (const AgeingRate rate : rates_for_band(tried, ageing.rate)) {
    const bool is_best = rate.per_day == ageing.rate.per_day;
    if (share(rate) >= kLeastSeparable || (is_best && ageing.evident)) {
      ageing.rates.push_back(rate);
    }
  }
}

}  // namespace

std::optional<Ageing> profile_ageing(const AgeingProblem& problem) {
  const int dof = static_cast<int>(problem.response.size()) -
                  static_cast<int>(problem.base.size()) - 2;
  const auto [first, last] =
      std::minmax_element(problem.time_s.begin(), problem.time_s.end());
  if (dof < 1 || !(*first >= 0.0) || !(*last > *first)) return std::nullopt;
  const auto without =
      solve_weighted(problem.base, problem.response, problem.variance);
  const Profile profile(problem);
  const std::vector<Tried> tried = over_all_rates(profile, *first > 0.0);
  if (!without || tried.empty()) return std::nullopt;
  const auto least = std::min_element(tried.begin(), tried.end(),
                                      [](const Tried& a, const Tried& b) {
                                        return a.chi_squared < b.chi_squared;
                                      });
  const Tried best =
      refined(profile, tried, static_cast<std::size_t>(least - tried.begin()));
  Ageing ageing;
  ageing.rate = best.rate;
  ageing.slope_ppm = static_cast<double>(best.slope);
  ageing.change_ppm =
      -static_cast<double>(best.slope * ageing_term(best.rate, *first, *last));
  // Two parameters, though B is none where A is zero: a little strict.
  constexpr int kTerms = 2;
  ageing.probability = gain_by_chance(
      static_cast<double>(without->chi_squared - best.chi_squared),
      static_cast<double>(best.chi_squared), kTerms, dof, problem.scale_known);
  ageing.evident = ageing.probability < kEvident;
  const Real most = best.chi_squared +
                    open_margin(best.chi_squared, dof, problem.scale_known);
  limit_rate(tried, most, ageing);
  keep_separable(problem, profile, tried, most, ageing);
  return ageing;
}

}  // namespace clockassay
