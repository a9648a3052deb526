// SPDX-License-Identifier: GPL-3.0-or-later
#include "clockassay/oscillator/load_network.h"

#include <doctest/doctest.h>

#include <cmath>
#include <complex>
#include <random>

#include "clockassay/oscillator/crystal_load.h"
#include "support/approx.h"
#include "support/load_vectors.h"

namespace clockassay {
namespace {

using testing::check_vector;
using testing::input;
using testing::load_vector;

CapacitorPair pair_of(double a_pf, double b_pf) {
  return {Farads(a_pf * 1e-12), Farads(b_pf * 1e-12)};
}

Stray stray_of(double pin_a_pf, double pin_b_pf, double across_pf) {
  return {Farads(pin_a_pf * 1e-12), Farads(pin_b_pf * 1e-12),
          Farads(across_pf * 1e-12)};
}

double pf(Farads c) {
  return c.value() * 1e12;
}

TEST_CASE("load_of: vectors") {
  // Own vector E7a: arithmetic only.
  const auto& row = load_vector("E7a");
  check_vector(row, "CL",
               load_of({Farads(input(row, "Ca")), Farads(input(row, "Cb"))},
                       {Farads(input(row, "Pa")), Farads(input(row, "Pb")),
                        Farads(input(row, "Cx"))})
                   .value());
  // An MCU maker's table of its main crystal oscillator (read; recomputed):
  // for 9 pF with 1 pF across in the part and 1 pF from each pin on the board
  // the capacitors are 15 pF. Back from the answer: CL again.
  const auto& table = load_vector("W26");
  const Farads c(testing::claimed_value(table, "Cext")["value"].get<double>());
  const Farads board(input(table, "Cpcb"));
  CHECK(pf(load_of({c, c}, {board, board, Farads(input(table, "Cpara"))})) ==
        testing::approx(1e12 * input(table, "CL")).epsilon(1e-12));
}

TEST_CASE("load_of: stray stands outside the fraction") {
  // Trap X2 (hobby article): Ca Cb/(Ca + Cb + Cstray), which makes stray take
  // load away. 30 pF twice and 3 pF across are 15 + 3 = 18 pF, not 14.3.
  CHECK(testing::plan_trap("X2")["wrong"].is_null());
  const double right = pf(load_of(pair_of(30, 30), stray_of(0, 0, 3)));
  CHECK(right == testing::approx(18.0).epsilon(1e-12));
  const double wrong = 30.0 * 30.0 / (30.0 + 30.0 + 3.0);
  CHECK(std::abs(right - wrong) > 3.0);
  CHECK(load_of(pair_of(30, 30), stray_of(0, 0, 3)) >
        load_of(pair_of(30, 30), stray_of(0, 0, 0)));
}

TEST_CASE("load_of: the crystal's own C0 is not load") {
  // Trap X3 (older table): C0 taken off as well. With 8 fF, 3 pF and a load of
  // 18 pF that leaves 15 pF, +31.7 ppm (SLIP-c0-subtracted, own vector).
  CHECK(testing::plan_trap("X3")["wrong"].is_null());
  const auto& row = load_vector("SLIP-c0-subtracted");
  const MotionalCrystal crystal{Farads(input(row, "C1")),
                                Farads(input(row, "C0"))};
  const Stray stray = stray_of(0, 0, 4);
  // Right: 2 (18 - 4) = 28 pF twice; with C0 taken off: 2 (18 - 4 - 3) = 22.
  const Farads right = load_of(pair_of(28, 28), stray);
  const Farads wrong = load_of(pair_of(22, 22), stray);
  const Farads nominal(input(row, "CLnom"));
  CHECK(std::abs(load_pull(crystal, nominal, right).value()) <= 1e-9);
  // The exact pull is C1/(2(C0+CL)) = 4e-4 of it off the vector's first order.
  CHECK(std::abs(load_pull(crystal, nominal, wrong).value() -
                 row["expected"]["pull"]["value"].get<double>()) <= 0.03);
}

TEST_CASE("load_of: pin to pin as the circuit says") {
  // The admittance between the pins of three capacitors and a floating ground,
  // solved for the ground node: Y = jw (Cx + A B/(A + B)).
  std::mt19937_64 random(11);
  std::uniform_real_distribution<double> c(1.0, 60.0);
  for (int i = 0; i < 100; ++i) {
    const double a = c(random), b = c(random), pa = c(random), pb = c(random);
    const double x = c(random);
    // Pin voltages +1/2 + v and -1/2 + v against ground; no net current into
    // ground: (1/2 + v)(a+pa) + (v - 1/2)(b+pb) = 0.
    const double v = 0.5 * (b + pb - a - pa) / (a + pa + b + pb);
    const double seen = (0.5 + v) * (a + pa) + x;
    CHECK(pf(load_of(pair_of(a, b), stray_of(pa, pb, x))) ==
          testing::approx(seen).epsilon(1e-12));
  }
  // One capacitor off its pad: that leg is its stray alone; both: Cx alone.
  CHECK(pf(load_of(pair_of(15, 0), stray_of(2, 2, 1))) ==
        testing::approx(17.0 * 2.0 / 19.0 + 1.0).epsilon(1e-12));
  CHECK(pf(load_of(pair_of(0, 0), stray_of(0, 0, 1))) ==
        testing::approx(1.0).epsilon(1e-12));
  CHECK(pf(load_of(pair_of(0, 0), stray_of(0, 0, 0))) == 0.0);
}

TEST_CASE("load_spread: two 12 pF capacitors 5 % off leave 0.3 pF") {
  // Own vector E20's 0.3 pF.
  const LoadSpread spread = load_spread(pair_of(12, 12), Stray{}, 0.05);
  CHECK(pf(spread.worst) == testing::approx(0.3).epsilon(1e-12));
  // Each 0.15 pF, rectangular and independent: 0.15 sqrt(2/3).
  CHECK(pf(spread.standard) ==
        testing::approx(0.15 * std::sqrt(2.0 / 3.0)).epsilon(1e-12));
  // Against a difference quotient, unequal legs with stray: 1e-4 of tolerance,
  // whose second-order part is below 1e-4 of the result.
  const CapacitorPair pair = pair_of(18, 33);
  const Stray stray = stray_of(3, 5, 1);
  const double step = 1e-4;
  const CapacitorPair more{(1 + step) * pair.a, (1 + step) * pair.b};
  CHECK(pf(load_spread(pair, stray, step).worst) ==
        testing::approx(pf(load_of(more, stray)) - pf(load_of(pair, stray)))
            .epsilon(2e-4));
}

TEST_CASE("stray_across_for, stray_per_pin_for: the load again") {
  std::mt19937_64 random(12);
  std::uniform_real_distribution<double> c(1.0, 60.0);
  for (int i = 0; i < 200; ++i) {
    const CapacitorPair pair = pair_of(c(random), c(random));
    const Farads load(0.5e-12 * c(random));
    const Farads across = stray_across_for(pair, load);
    const Farads per_pin = stray_per_pin_for(pair, load);
    CAPTURE(i);
    CHECK(pf(load_of(pair, {Farads(), Farads(), across})) ==
          testing::approx(pf(load)).epsilon(1e-12));
    CHECK(pf(load_of(pair, {per_pin, per_pin, Farads()})) ==
          testing::approx(pf(load)).epsilon(1e-10));
    // Both negative, or both not.
    CHECK((across.value() < 0.0) == (per_pin.value() < 0.0));
  }
  // 15 pF twice, 8.9 pF: 1.4 pF across, twice that at each pin.
  CHECK(pf(stray_across_for(pair_of(15, 15), Farads(8.9e-12))) ==
        testing::approx(1.4).epsilon(1e-9));
  CHECK(pf(stray_per_pin_for(pair_of(15, 15), Farads(8.9e-12))) ==
        testing::approx(2.8).epsilon(1e-9));
}

}  // namespace
}  // namespace clockassay
