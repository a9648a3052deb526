// SPDX-License-Identifier: GPL-3.0-or-later
#include "clockassay/oscillator/capacitor_choice.h"

#include <doctest/doctest.h>

#include <cmath>
#include <random>

#include "support/approx.h"

namespace clockassay {
namespace {

double pf(Farads c) {
  return c.value() * 1e12;
}

CapacitorWish wish_of(double load_pf, double across_pf) {
  CapacitorWish wish;
  wish.load = Farads(load_pf * 1e-12);
  wish.stray.across = Farads(across_pf * 1e-12);
  return wish;
}

CapacitorPair pair_of(double a_pf, double b_pf) {
  return {Farads(a_pf * 1e-12), Farads(b_pf * 1e-12)};
}

CapacitorChoice choice_of(const CapacitorWish& wish) {
  const auto choice = choose_capacitors(wish);
  REQUIRE(choice);
  return *choice;
}

void check_pair(const CapacitorPair& pair, double a_pf, double b_pf) {
  // Roundings; none fitted is exactly none.
  CHECK(testing::within(pf(pair.a), a_pf, 1e-12 * a_pf));
  CHECK(testing::within(pf(pair.b), b_pf, 1e-12 * b_pf));
}

TEST_CASE("choose_capacitors: 18 pF with 3 pF across takes two of 30 pF") {
  // Common practice, no source: twice what the load lacks, 2 (18 - 3).
  const CapacitorChoice choice = choice_of(wish_of(18, 3));
  check_pair(choice.preferred, 30, 30);
  check_pair(choice.closest, 30, 30);
}

TEST_CASE("choose_capacitors: a small miss does not part the legs") {
  // 10.5 pF in series wanted: 21 pF twice, which no series has. 22 pF twice
  // miss by 0.5 pF, their own 5 % are 0.55 pF; 20 and 22 pF miss by 0.024 pF.
  // 20 pF twice miss as much as 22 pF, which is of E12.
  const CapacitorChoice choice = choice_of(wish_of(12, 1.5));
  check_pair(choice.preferred, 22, 22);
  check_pair(choice.closest, 20, 22);
  // What is fitted already goes before E12 where the miss is the same.
  CapacitorWish fitted = wish_of(12, 1.5);
  fitted.fitted = pair_of(20, 20);
  check_pair(choice_of(fitted).preferred, 20, 20);
  // With 2 % capacitors 0.5 pF is a miss.
  CapacitorWish tight = wish_of(12, 1.5);
  tight.tolerance = 0.02;
  check_pair(choice_of(tight).preferred, 20, 22);
}

TEST_CASE("choose_capacitors: E12 alone") {
  // 15 pF in series: 27 pF give 13.5, 33 pF give 16.5, off by 1.5 pF where
  // 5 % are 0.7 to 0.8 pF; 27 and 33 pF give 14.85 pF.
  CapacitorWish wish = wish_of(18, 3);
  wish.series = ESeries::kE12;
  check_pair(choice_of(wish).preferred, 27, 33);
}

TEST_CASE("choose_capacitors: where stray alone is too much there is none") {
  CHECK_FALSE(choose_capacitors(wish_of(4, 4)));
  CHECK_FALSE(choose_capacitors(wish_of(4, 5)));
  // Less than 1 pF twice would be needed.
  CHECK_FALSE(choose_capacitors(wish_of(4.4, 4)));
  check_pair(choice_of(wish_of(4.5, 4)).preferred, 1, 1);
  // More than 1 nF twice.
  CHECK_FALSE(choose_capacitors(wish_of(501, 0)));
}

TEST_CASE("choose_capacitors: none at all where that is asked for") {
  const auto with_none = [](double load_pf, double across_pf) {
    CapacitorWish wish = wish_of(load_pf, across_pf);
    wish.or_none = true;
    return choice_of(wish);
  };
  // 0.1 pF short of 4.1 pF: none misses by 0.1, two of 1 pF by 0.4.
  check_pair(with_none(4.1, 4.0).preferred, 0, 0);
  check_pair(with_none(4.1, 4.0).closest, 0, 0);
  // 0.4 pF short: two of 1 pF miss by 0.1.
  check_pair(with_none(4.4, 4.0).closest, 1, 1);
  // More stray than load: the nearest is none.
  check_pair(with_none(4.0, 5.0).closest, 0, 0);
  // As without where capacitors are wanted.
  check_pair(with_none(18.0, 3.0).preferred, 30, 30);
  // More than the series has: two of 1 nF.
  check_pair(with_none(600.0, 0.0).closest, 1000, 1000);
}

TEST_CASE("choose_capacitors: no pair of the series is closer") {
  const unsigned seed = 5;
  CAPTURE(seed);
  std::mt19937_64 random(seed);
  std::uniform_real_distribution<double> load(6.0, 40.0);
  std::uniform_real_distribution<double> stray(0.0, 5.0);
  const auto values =
      preferred_values(ESeries::kE24, Farads(1e-12), Farads(1e-9));
  for (int i = 0; i < 50; ++i) {
    CapacitorWish wish = wish_of(load(random), stray(random));
    wish.stray.pin_a = Farads(stray(random) * 1e-13);
    const CapacitorChoice choice = choice_of(wish);
    const auto miss = [&](const CapacitorPair& p) {
      return std::abs(pf(load_of(p, wish.stray)) - pf(wish.load));
    };
    for (const Farads a : values) {
      for (const Farads b : values) {
        if (b < a || b / a > 2.0) continue;
        // The tie of 1e-9 of the load.
        REQUIRE(miss(choice.closest) <= miss({a, b}) + 1e-9 * pf(wish.load));
      }
    }
    // The preferred one is equal and within its tolerance, or the closest.
    const bool equal = choice.preferred.a == choice.preferred.b;
    CHECK((equal || choice.preferred == choice.closest));
    if (equal && !(choice.preferred == choice.closest)) {
      CHECK(miss(choice.preferred) <=
            pf(load_spread(choice.preferred, wish.stray, 0.05).worst) *
                (1.0 + 1e-9));
    }
  }
}

}  // namespace
}  // namespace clockassay
