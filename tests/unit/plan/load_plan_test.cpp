// SPDX-License-Identifier: GPL-3.0-or-later
#include "clockassay/plan/load_plan.h"

#include <doctest/doctest.h>

#include <algorithm>
#include <cmath>
#include <random>

#include "clockassay/oscillator/crystal_load.h"
#include "support/approx.h"
#include "support/load_vectors.h"

namespace clockassay {
namespace {

constexpr double kPf = 1e-12;

LoadPlanInput asked(double load_pf) {
  LoadPlanInput in;
  in.crystal_load = Farads(load_pf * kPf);
  return in;
}

LoadPlanInput published(double load_pf, double stray_pf) {
  LoadPlanInput in = asked(load_pf);
  in.stray = StatedStray{Farads(stray_pf * kPf)};
  in.c0 = Farads(3 * kPf);
  in.c1 = Farads(8e-15);
  return in;
}

double pf(Farads c) {
  return c.value() / kPf;
}

TEST_CASE("plan_load: 18 pF with 3 pF across wants two of 30 pF") {
  // Common practice, no source.
  const LoadPlan plan = plan_load(published(18, 3));
  REQUIRE(plan.chosen);
  CHECK(pf(plan.chosen->capacitors.a) == testing::approx(30));
  CHECK(pf(plan.chosen->capacitors.b) == testing::approx(30));
  CHECK(pf(plan.chosen->load) == testing::approx(18));
  CHECK(std::abs(plan.chosen->pull.value()) < 1e-9);
  CHECK(*plan.chosen->gain_factor == testing::approx(1.0));
  CHECK_FALSE(plan.closest);
  // One value below, one above: E24 around 30 pF is 27 and 33.
  REQUIRE(plan.beside.size() == 2);
  CHECK(pf(plan.beside[0].capacitors.a) == testing::approx(27));
  CHECK(pf(plan.beside[1].capacitors.b) == testing::approx(33));
  CHECK(plan.beside[0].pull > Ppm(0.0));  // less load is faster
  CHECK(plan.beside[1].pull < Ppm(0.0));
}

TEST_CASE("plan_load: 4 pF across are 8 pF from each pin") {
  LoadPlanInput across = published(18, 4);
  LoadPlanInput per_pin = published(18, 8);
  per_pin.stray->per_pin = true;
  const LoadPlan a = plan_load(across);
  const LoadPlan b = plan_load(per_pin);
  REQUIRE(a.chosen);
  REQUIRE(b.chosen);
  // Equal legs: (C + 8)/2 = C/2 + 4, whatever C.
  CHECK(a.chosen->capacitors == b.chosen->capacitors);
  CHECK(pf(a.chosen->load) == testing::approx(pf(b.chosen->load)));
}

TEST_CASE("plan_load: what is fitted is told in load and ppm") {
  // Own vector SLIP-caps-equal-CL: two of 18 pF on an 18 pF crystal with 4 pF
  // across see 13 pF, +59.5238 ppm to first order; the exact pull is less by
  // C1/(2(C0+CL)) of it, below 0.05 %.
  LoadPlanInput in = published(18, 4);
  in.fitted = CapacitorPair{Farads(18 * kPf), Farads(18 * kPf)};
  const LoadPlan plan = plan_load(in);
  REQUIRE(plan.fitted);
  CHECK(pf(plan.fitted->load) == testing::approx(13));
  CHECK(std::abs(plan.fitted->pull.value() - 59.5238) < 0.0005 * 59.5238);
  // 2 (18 - 4) = 28 pF is no value of E24: 27 pF twice see 17.5 pF.
  REQUIRE(plan.chosen);
  CHECK(pf(plan.chosen->capacitors.a) == testing::approx(27));
}

TEST_CASE("plan_load: unequal legs are nearer, and say what gain they ask") {
  LoadPlanInput in = published(18, 4);
  in.capacitor_tolerance = 0.01;  // so fine that two of 27 pF miss by too much
  const LoadPlan plan = plan_load(in);
  REQUIRE(plan.chosen);
  const CapacitorPair& pair = plan.chosen->capacitors;
  CHECK(pair.a != pair.b);
  CHECK(std::abs(pf(plan.chosen->load) - 18.0) < 0.1);
  const double sum = pf(pair.a) + pf(pair.b);
  CHECK(*plan.chosen->gain_factor ==
        testing::approx(sum * sum / (4 * pf(pair.a) * pf(pair.b))));
}

TEST_CASE("typical_stray: reaches beyond a pad over a plane") {
  // W20, an MCU maker's note on oscillators, section 3.1 (read in a retyped
  // extract; recomputed): arithmetic of the source, 10 mm² over 0.31 mm of
  // board, 1 pF. Two such pads in series are half of it across.
  const auto& row = testing::plan_vector("W20");
  const double pad = 8.85e-12 * testing::input(row, "er") *
                     testing::input(row, "area") / testing::input(row, "gap");
  testing::check_vector(row, "C", pad);
  const StatedStray stray = typical_stray();
  CHECK(0.5 * pad < (stray.middle - stray.half_width).value());
}

TEST_CASE("plan_load: nothing known is said, and widens") {
  const LoadPlan known = plan_load(published(18, 3));
  const LoadPlan unknown = plan_load(asked(18));
  CHECK(unknown.stray.middle == typical_stray().middle);
  CHECK(unknown.crystal.assumed.size() == 2);
  CHECK(known.crystal.assumed.empty());
  REQUIRE(unknown.chosen);
  REQUIRE(known.chosen);
  CHECK(unknown.chosen->pull_uncertainty > known.chosen->pull_uncertainty);
  // 2 pF more or less across is the most of it.
  CHECK(pf(unknown.chosen->load_uncertainty) > 0.95 * 2.0);
  CHECK(unknown.sensitivity_low < unknown.sensitivity_ppm_per_pf);
  CHECK(unknown.sensitivity_high > unknown.sensitivity_ppm_per_pf);
  // A fork is told by its frequency.
  LoadPlanInput fork = asked(12.5);
  fork.frequency = Hertz(32768);
  CHECK(plan_load(fork).crystal.middle.c1 < Farads(8e-15));
}

TEST_CASE("plan_load: no capacitors where the stray is the load already") {
  const LoadPlan plan = plan_load(published(6, 7));
  CHECK_FALSE(plan.chosen);
  CHECK(plan.beside.empty());
  CHECK_FALSE(plan.probe);
  // None fitted are 7 pF, 1 pF too much, and slow.
  REQUIRE(plan.bare);
  CHECK(pf(plan.bare->load) == testing::approx(7));
  CHECK(plan.bare->pull < Ppm(0.0));
  // All of it is across: with nothing to ground no oscillator runs.
  CHECK_FALSE(plan.bare->gain_factor);
  // Too large a load is another matter.
  const LoadPlan large = plan_load(published(600, 3));
  CHECK_FALSE(large.chosen);
  CHECK_FALSE(large.bare);
}

TEST_CASE("plan_load: the gain of unequal legs is of all that is in them") {
  // 10 and 20 pF with 8 pF at each pin: (18 + 28)²/(4 · 18 · 28) = 1.0496; of
  // the capacitors alone it would be 1.125.
  LoadPlanInput in = published(18, 8);
  in.stray->per_pin = true;
  in.fitted = CapacitorPair{Farads(10 * kPf), Farads(20 * kPf)};
  CHECK(*plan_load(in).fitted->gain_factor ==
        testing::approx(1.0496).epsilon(1e-4));
  // A missing capacitor: 30 and 8 pF, 38²/(4 · 240) = 1.504.
  in.fitted = CapacitorPair{Farads(22 * kPf), Farads(0.0)};
  CHECK(*plan_load(in).fitted->gain_factor ==
        testing::approx(1.5042).epsilon(1e-4));
  // Nothing at all at a pin: no gain is enough, and none is named.
  in.stray->per_pin = false;
  const LoadPlan open = plan_load(in);
  CHECK_FALSE(open.fitted->gain_factor);
}

TEST_CASE("plan_load: two of either beside an unequal pair") {
  LoadPlanInput in = asked(12.5);
  in.capacitor_tolerance = 0.01;
  const LoadPlan plan = plan_load(in);
  REQUIRE(plan.chosen);
  const CapacitorPair& pair = plan.chosen->capacitors;
  REQUIRE(pair.a != pair.b);
  REQUIRE(plan.beside.size() == 2);
  CHECK(plan.beside[0].capacitors.a == std::min(pair.a, pair.b));
  CHECK(plan.beside[1].capacitors.b == std::max(pair.a, pair.b));
  CHECK(plan.beside[0].capacitors.a == plan.beside[0].capacitors.b);
}

TEST_CASE("plan_load: no load pulls any crystal by 3000 ppm") {
  // Trap X19, derived here: between fs and fa lies C1/(2 C0), 2778 ppm of
  // C0/C1 = 180, the smallest that is assumed (E18).
  CHECK(testing::plan_trap("X19")["wrong"].is_null());
  for (const double load : {0.1, 1.0, 18.0, 999.0}) {
    LoadPlanInput in = asked(load);
    in.fitted = CapacitorPair{Farads(1e-6), Farads(1e-6)};
    in.stray = StatedStray{Farads(0.0)};
    const LoadPlan all = plan_load(in);
    in.fitted = CapacitorPair{};
    const LoadPlan none = plan_load(in);
    // Of one crystal, from any load to any other.
    CHECK(none.fitted->pull_high.value() < 2778.0);
    CHECK(all.fitted->pull_low.value() > -2778.0);
  }
}

TEST_CASE("plan_load: exact inputs leave nothing open") {
  LoadPlanInput in = published(18, 3);
  in.capacitor_tolerance = 0.0;
  const LoadPlan plan = plan_load(in);
  REQUIRE(plan.chosen);
  CHECK(plan.chosen->load_uncertainty == Farads(0.0));
  CHECK(plan.chosen->pull_uncertainty.value() < 1e-9);
}

TEST_CASE("plan_load: a probe on one pin is 10 pF there") {
  const LoadPlan plan = plan_load(published(18, 3));
  REQUIRE(plan.probe);
  // 30 and 40 pF in series, 3 pF across: 17.142857 + 3.
  CHECK(plan.probe->pull.value() ==
        testing::approx(load_pull({Farads(8e-15), Farads(3 * kPf)},
                                  Farads(18 * kPf),
                                  Farads((1200.0 / 70.0 + 3.0) * kPf))
                            .value())
            .epsilon(1e-9));
}

TEST_CASE("plan_load: a probe is on the pin where it pulls more") {
  for (const double series : {1.0, -1.0}) {
    LoadPlanInput in = published(12, 3);
    in.fitted = CapacitorPair{Farads(series > 0 ? 12e-12 : 39e-12),
                              Farads(series > 0 ? 39e-12 : 12e-12)};
    // No pair makes that little.
    in.crystal_load = Farads(3.1 * kPf);
    const LoadPlan plan = plan_load(in);
    REQUIRE_FALSE(plan.chosen);
    REQUIRE(plan.probe);
    // On the smaller leg: 22 and 39 pF in series and 3 across, else 12 and 49.
    const MotionalCrystal crystal{Farads(8e-15), Farads(3 * kPf)};
    const auto pull_at = [&crystal](double pf) {
      return load_pull(crystal, Farads((12.0 * 39.0 / 51.0 + 3.0) * kPf),
                       Farads(pf * kPf))
          .value();
    };
    const double small = pull_at(22.0 * 39.0 / 61.0 + 3.0);
    CHECK(small < pull_at(12.0 * 49.0 / 61.0 + 3.0));
    CHECK(plan.probe->pull.value() == testing::approx(small).epsilon(1e-9));
  }
}

TEST_CASE("plan_load: boards of such parts pull within U as often as stated") {
  // Capacitors and stray drawn from their tolerances; the published crystal.
  struct Board {
    double load_pf, stray_pf, stray_half_pf, tolerance;
    bool per_pin;
  };
  const Board boards[] = {{18, 3, 0, 0.05, false},
                          {18, 3, 2, 0.05, false},
                          {9, 2, 0.5, 0.05, false},
                          {12, 5, 1, 0.02, true},
                          {12.5, 1.5, 0.5, 0.10, false}};
  constexpr int kTrials = 4000;
  const unsigned seed = 20250121;
  CAPTURE(seed);
  std::mt19937_64 random(seed);
  std::uniform_real_distribution<double> off(-1.0, 1.0);
  for (const Board& b : boards) {
    LoadPlanInput in = published(b.load_pf, b.stray_pf);
    in.stray->half_width = Farads(b.stray_half_pf * kPf);
    in.stray->per_pin = b.per_pin;
    in.capacitor_tolerance = b.tolerance;
    const LoadPlan plan = plan_load(in);
    REQUIRE(plan.chosen);
    const LoadEffect& e = *plan.chosen;
    int within = 0;
    for (int t = 0; t < kTrials; ++t) {
      const CapacitorPair pair{
          (1 + b.tolerance * off(random)) * e.capacitors.a,
          (1 + b.tolerance * off(random)) * e.capacitors.b};
      const Farads s((b.stray_pf + b.stray_half_pf * off(random)) * kPf);
      const Stray stray =
          b.per_pin ? Stray{s, s, Farads()} : Stray{Farads(), Farads(), s};
      const Ppm pull =
          load_pull(plan.crystal.middle, in.crystal_load, load_of(pair, stray));
      within += pull >= e.pull_low && pull <= e.pull_high;
    }
    CAPTURE(b.load_pf);
    CAPTURE(within);
    // 95 % to three standard deviations of 4000, 1 %, below. Rectangles in the
    // place of normals are narrower than U takes them for: of two equal ones
    // 1.96 sqrt(2/3) = 1.60 of the half-width contains 1 - (1 - 0.80)² = 96 %.
    CHECK(within >= 0.94 * kTrials);
    CHECK(within <= 0.975 * kTrials);
  }
}

}  // namespace
}  // namespace clockassay
