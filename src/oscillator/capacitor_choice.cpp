// SPDX-License-Identifier: GPL-3.0-or-later
#include "clockassay/oscillator/capacitor_choice.h"

#include <algorithm>
#include <cmath>
#include <tuple>
#include <vector>

namespace clockassay {
namespace {

// What ceramic capacitors beside a crystal are made in. Common practice, no
// source.
constexpr Farads kSmallest(1e-12);
constexpr Farads kLargest(1e-9);

// Legs further apart ask 9/8 and more of the gain that equal ones ask:
// (Ca+Cb)^2/(4 Ca Cb). Chosen.
constexpr double kLargestRatio = 2.0;

// Misses that differ by less than this part of the load are one. Far below any
// capacitor's tolerance, far above rounding.
constexpr double kTie = 1e-9;

constexpr CapacitorPair kNone{Farads(0.0), Farads(0.0)};

bool is_fitted(Farads value, const CapacitorWish& wish) {
  constexpr double kSame = 1e-9;
  if (!wish.fitted) return false;
  const auto same = [&](Farads f) {
    return std::abs(f / value - 1.0) <= kSame;
  };
  return same(wish.fitted->a) || same(wish.fitted->b);
}

bool is_in(ESeries series, Farads value) {
  return !preferred_values(series, value, value).empty();
}

double ratio_of(const CapacitorPair& pair) {
  return pair.a == pair.b ? 1.0 : pair.b / pair.a;
}

// Smaller is better; what counts most comes first.
using Merit = std::tuple<double, int, int, double, double>;

Merit merit(const CapacitorPair& pair, const CapacitorWish& wish) {
  const double miss = std::abs(load_of(pair, wish.stray) / wish.load - 1.0);
  // What is left out is no value to buy.
  const bool is_none = pair == kNone;
  const int new_values =
      is_none ? 0 : !is_fitted(pair.a, wish) + !is_fitted(pair.b, wish);
  const int unusual =
      is_none ? 0
              : !is_in(ESeries::kE12, pair.a) + !is_in(ESeries::kE12, pair.b);
  return {std::round(miss / kTie) * kTie, new_values, unusual, ratio_of(pair),
          (pair.a + pair.b).value()};
}

CapacitorPair best_of(const std::vector<CapacitorPair>& pairs,
                      const CapacitorWish& wish) {
  return *std::min_element(
      pairs.begin(), pairs.end(),
      [&wish](const CapacitorPair& a, const CapacitorPair& b) {
        return merit(a, wish) < merit(b, wish);
      });
}

}  // namespace

std::optional<CapacitorChoice> choose_capacitors(const CapacitorWish& wish) {
  const std::vector<Farads> values =
      preferred_values(wish.series, kSmallest, kLargest);
  const auto equal = [](Farads value) { return CapacitorPair{value, value}; };
  const bool is_in_reach = load_of(equal(kSmallest), wish.stray) <= wish.load &&
                           load_of(equal(kLargest), wish.stray) >= wish.load;
  if (!is_in_reach && !wish.or_none) return std::nullopt;
  std::vector<CapacitorPair> equal_pairs;
  std::vector<CapacitorPair> pairs;
  if (wish.or_none) {
    equal_pairs.push_back(kNone);
    pairs.push_back(kNone);
  }
  for (std::size_t i = 0; i < values.size(); ++i) {
    equal_pairs.push_back(equal(values[i]));
    for (std::size_t j = i; j < values.size(); ++j) {
      if (values[j] / values[i] > kLargestRatio * (1.0 + kTie)) break;
      pairs.push_back({values[i], values[j]});
    }
  }
  CapacitorChoice choice;
  choice.closest = best_of(pairs, wish);
  choice.preferred = best_of(equal_pairs, wish);
  const double miss =
      std::abs((load_of(choice.preferred, wish.stray) - wish.load).value());
  const LoadSpread spread =
      load_spread(choice.preferred, wish.stray, wish.tolerance);
  if (miss > spread.worst.value() * (1.0 + kTie)) {
    choice.preferred = choice.closest;
  }
  return choice;
}

}  // namespace clockassay
