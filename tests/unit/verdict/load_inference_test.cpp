// SPDX-License-Identifier: GPL-3.0-or-later
#include "verdict/load_inference.h"

#include <doctest/doctest.h>

#include <cmath>
#include <random>
#include <vector>

#include "clockassay/oscillator/crystal_load.h"
#include "clockassay/oscillator/preferred_values.h"
#include "support/approx.h"
#include "unit/verdict/clock_under_test.h"

namespace clockassay {
namespace {

const Hertz kSource(24e6);
const MotionalCrystal kCrystal{Farads(8e-15), Farads(3e-12)};

double pf(Farads c) {
  return c.value() * 1e12;
}

// 12 pF asked for, two of 15 pF fitted, C0 and C1 published.
LoadSpec load_spec() {
  LoadSpec load;
  load.nominal = Farads(12e-12);
  load.capacitors = CapacitorPair{Farads(15e-12), Farads(15e-12)};
  load.c0 = kCrystal.c0;
  load.c1 = kCrystal.c1;
  return load;
}

// U is 0.95 of a rectangle.
MeasuredError error_of(double ppm, double half_width_ppm) {
  MeasuredError error;
  error.ppm = ppm;
  error.distribution = {half_width_ppm, 0.0};
  error.expanded_ppm = 0.95 * half_width_ppm;
  return error;
}

// Of the crystal when it sees so much.
double ppm_at(double load_pf) {
  return load_pull(kCrystal, Farads(12e-12), Farads(load_pf * 1e-12)).value();
}

TEST_CASE("infer_load: 3 pF too little, and 22 pF instead of 15 pF") {
  // 15 pF twice are 7.5 pF, with 1.5 pF across 9 pF. The 10.5 pF that 12 pF
  // leave to the capacitors are 21 pF twice: 22 pF, 0.5 pF too much.
  const LoadInference load = infer_load(load_spec(), kSource, band_of("10ppm"),
                                        error_of(ppm_at(9.0), 2.0));
  CHECK(load.outcome == LoadOutcome::kDiffers);
  REQUIRE(load.seen);
  CHECK(pf(*load.seen) == testing::approx(9.0).epsilon(1e-8));
  // U = 1.9 ppm and the crystal's 10 ppm either way, from the load at which
  // the error would be that much more or less: own arithmetic the other way
  // round, u = (1+e)/(1+m) - 1.
  const auto bound = [](double ppm, double make) {
    return load_after_pull(
               kCrystal, Farads(12e-12),
               Ppm(((1 + ppm * 1e-6) / (1 + make * 1e-6) - 1) * 1e6))
        ->value();
  };
  REQUIRE(load.seen_high);
  CHECK(load.seen_low.value() ==
        testing::approx(bound(ppm_at(9.0) + 1.9, -10.0)).epsilon(1e-9));
  CHECK(load.seen_high->value() ==
        testing::approx(bound(ppm_at(9.0) - 1.9, 10.0)).epsilon(1e-9));
  REQUIRE(load.stray);
  CHECK_FALSE(load.stray->per_pin);
  CHECK(pf(*load.stray->best) == testing::approx(1.5).epsilon(1e-7));
  // The fitted pair is 7.5 pF within 5 %.
  CHECK(pf(load.stray->low) ==
        testing::approx(pf(load.seen_low) - 1.05 * 7.5).epsilon(1e-9));
  CHECK(pf(*load.stray->high) ==
        testing::approx(pf(*load.seen_high) - 0.95 * 7.5).epsilon(1e-9));
  REQUIRE(load.fit);
  CHECK(pf(load.fit->capacitors.a) == testing::approx(22.0).epsilon(1e-12));
  CHECK(pf(load.fit->capacitors.b) == testing::approx(22.0).epsilon(1e-12));
  // The crystal then sees 11 + 1.5 pF.
  CHECK(load.fit->predicted.value() ==
        testing::approx(ppm_at(12.5)).epsilon(1e-4));
  CHECK(load.fit->low < load.fit->predicted);
  CHECK(load.fit->predicted < load.fit->high);
  REQUIRE(load.closest);
  CHECK(pf(load.closest->capacitors.a) == testing::approx(20.0).epsilon(1e-12));
  CHECK(pf(load.closest->capacitors.b) == testing::approx(22.0).epsilon(1e-12));
  CHECK(load.assumed.size() == 1);  // the capacitors' tolerance
}

TEST_CASE("infer_load: what is predicted hardly rests on the crystal's own") {
  // A crystal 10 ppm fast by itself at 9 pF reads 10 ppm more, and so seems to
  // see less; after the exchange it is right at 12 pF plus its 10 ppm.
  const double truth = ppm_at(9.0) + 10.0;
  const LoadInference load =
      infer_load(load_spec(), kSource, band_of("10ppm"), error_of(truth, 1e-3));
  REQUIRE(load.seen);
  CHECK(pf(*load.seen) < 9.0);
  CHECK(pf(load.seen_low) < 9.0);
  CHECK(pf(*load.seen_high) >= 9.0 - 1e-4);
  REQUIRE(load.fit);
  const CapacitorPair& pair = load.fit->capacitors;
  const double after = ppm_at(1.5 + pf(load_of(pair, Stray{}))) + 10.0;
  CHECK(load.fit->low.value() < after);
  CHECK(after < load.fit->high.value());
}

TEST_CASE("infer_load: within U and the make tolerance nothing is to change") {
  for (const double ppm : {-11.8, -3.0, 0.0, 5.0, 11.8}) {
    CAPTURE(ppm);
    const LoadInference load =
        infer_load(load_spec(), kSource, band_of("10ppm"), error_of(ppm, 2.0));
    CHECK(load.outcome == LoadOutcome::kConsistent);
    CHECK(load.seen_low <= Farads(12e-12));
    REQUIRE(load.seen_high);
    CHECK(*load.seen_high >= Farads(12e-12));
    CHECK_FALSE(load.fit);
  }
  // 10 ppm and U = 1.9 ppm, to second order.
  for (const double ppm : {-12.0, 12.0}) {
    CHECK(infer_load(load_spec(), kSource, band_of("10ppm"), error_of(ppm, 2.0))
              .outcome == LoadOutcome::kDiffers);
  }
  // Unequal bands have their own ends.
  CHECK(infer_load(load_spec(), kSource, band_of("-5ppm..40ppm"),
                   error_of(40.0, 2.0))
            .outcome == LoadOutcome::kConsistent);
  CHECK(infer_load(load_spec(), kSource, band_of("-5ppm..40ppm"),
                   error_of(-8.0, 2.0))
            .outcome == LoadOutcome::kDiffers);
}

TEST_CASE("infer_load: beyond the resonances it is never the load") {
  // 8 fF, 3 pF, 12 pF: -267 to +1067 ppm to first order, C1/(2(C0+CL)) and
  // C1/(2 C0) less that.
  for (const double ppm : {-300.0, 1100.0, 5000.0, -333000.0}) {
    CAPTURE(ppm);
    const LoadInference load =
        infer_load(load_spec(), kSource, band_of("10ppm"), error_of(ppm, 2.0));
    CHECK(load.outcome == LoadOutcome::kNeverTheLoad);
    CHECK_FALSE(load.fit);
    CHECK(load.slowest.value() == testing::approx(-266.7).epsilon(1e-3));
    CHECK(load.fastest.value() == testing::approx(1066.7).epsilon(2e-3));
  }
  // Trap X19: whatever the crystal, 3000 ppm are never its load capacitors.
  LoadSpec unknown = load_spec();
  unknown.c0.reset();
  unknown.c1.reset();
  CHECK(infer_load(unknown, kSource, band_of("10ppm"), error_of(3000.0, 2.0))
            .outcome == LoadOutcome::kNeverTheLoad);
  // Next to the series resonance the upper end is open.
  const LoadInference near =
      infer_load(load_spec(), kSource, band_of("10ppm"), error_of(-260.0, 2.0));
  CHECK(near.outcome == LoadOutcome::kDiffers);
  CHECK_FALSE(near.seen_high);
  CHECK_FALSE(near.stray->high);
}

TEST_CASE("infer_load: without C0 and C1 a wider interval, and said so") {
  LoadSpec unknown = load_spec();
  unknown.c0.reset();
  unknown.c1.reset();
  const MeasuredError error = error_of(ppm_at(9.0), 2.0);
  const LoadInference known =
      infer_load(load_spec(), kSource, band_of("10ppm"), error);
  const LoadInference wide =
      infer_load(unknown, kSource, band_of("10ppm"), error);
  CHECK(wide.assumed.size() == 3);
  CHECK(wide.seen_low < known.seen_low);
  CHECK(*wide.seen_high > *known.seen_high);
  REQUIRE(wide.fit);
  CHECK(wide.fit->high - wide.fit->low > known.fit->high - known.fit->low);
}

// Limits without zero in them say what the crystal is made for.
TEST_CASE("infer_load: limits beside the expected frequency are aimed at") {
  const ToleranceBand make = band_of("20ppm..40ppm");
  // Made 30 ppm fast at 12 pF, it sees 10 pF and is faster still.
  const double made = 30.0;
  const auto at = [made](double load_pf) {
    return ((1 + made * 1e-6) * (1 + ppm_at(load_pf) * 1e-6) - 1) * 1e6;
  };
  const LoadInference light =
      infer_load(load_spec(), kSource, make, error_of(at(10.0), 2.0));
  CHECK(light.outcome == LoadOutcome::kDiffers);
  CHECK(light.aim.value() == testing::approx(made));
  REQUIRE(light.seen);
  CHECK(pf(*light.seen) == testing::approx(10.0).epsilon(1e-7));
  // 2.5 pF of stray; two of 20 pF make 12.5 pF, two of 18 pF 11.5 pF.
  REQUIRE(light.fit);
  const CapacitorPair pair = light.fit->capacitors;
  CHECK(light.fit->predicted.value() ==
        testing::approx(at(2.5 + pf(load_of(pair, Stray{})))).epsilon(1e-4));
  CHECK(light.fit->is_within_limits);
  // 5 ppm fast is slow of 20 to 40: less load, not more.
  const LoadInference heavy =
      infer_load(load_spec(), kSource, make, error_of(5.0, 2.0));
  CHECK(heavy.outcome == LoadOutcome::kDiffers);
  CHECK(pf(*heavy.seen) > 12.0);
  REQUIRE(heavy.fit);
  CHECK(pf(heavy.fit->capacitors.a) < 15.0);
  CHECK(heavy.fit->is_within_limits);
}

TEST_CASE("infer_load: the load lies in its interval, whatever the limits") {
  const unsigned seed = 41;
  CAPTURE(seed);
  std::mt19937_64 random(seed);
  std::uniform_real_distribution<double> ppm(-150.0, 400.0);
  std::uniform_int_distribution<int> low(-60, 60);
  std::uniform_int_distribution<int> width(1, 60);
  std::uniform_int_distribution<int> known(0, 3);
  for (int i = 0; i < 2000; ++i) {
    LoadSpec load = load_spec();
    const int which = known(random);
    if ((which & 1) == 0) load.c0.reset();
    if ((which & 2) == 0) load.c1.reset();
    const int from = low(random);
    const int to = from + width(random);
    const ToleranceBand make{Rational(from), Rational(to)};
    const double e = ppm(random);
    CAPTURE(from);
    CAPTURE(to);
    CAPTURE(e);
    CAPTURE(which);
    const LoadInference seen =
        infer_load(load, kSource, make, error_of(e, 2.0));
    if (seen.outcome == LoadOutcome::kNeverTheLoad || !seen.seen) continue;
    CHECK(seen.seen_low <= *seen.seen);
    if (seen.seen_high) CHECK(*seen.seen <= *seen.seen_high);
    if (!seen.fit) continue;
    // Towards the limits, or what is aimed at within them.
    const double aim = from <= 0 && to >= 0 ? 0.0 : 0.5 * (from + to);
    CHECK(std::abs(seen.fit->predicted.value() - aim) <= std::abs(e - aim));
  }
}

TEST_CASE("infer_load: stray from each pin, stated or not agreeing") {
  LoadSpec load = load_spec();
  load.stray_per_pin = Farads(3e-12);
  const MeasuredError error = error_of(ppm_at(9.0), 2.0);
  const LoadInference agreed =
      infer_load(load, kSource, band_of("2ppm"), error);
  REQUIRE(agreed.stray);
  CHECK(agreed.stray->per_pin);
  CHECK(pf(*agreed.stray->best) == testing::approx(3.0).epsilon(1e-7));
  CHECK(agreed.stray->agrees_with_stated);
  load.stray_per_pin = Farads(9e-12);
  CHECK_FALSE(infer_load(load, kSource, band_of("2ppm"), error)
                  .stray->agrees_with_stated);
}

// 8 pF asked for beside so much stray, two of 15 pF fitted.
LoadInference inferred_beside(double stray_pf, bool per_pin = false) {
  LoadSpec load = load_spec();
  load.nominal = Farads(8e-12);
  if (per_pin) load.stray_per_pin = Farads(stray_pf * 1e-12);
  const double across = per_pin ? 0.5 * stray_pf : stray_pf;
  const double e =
      load_pull(kCrystal, Farads(8e-12), Farads((7.5 + across) * 1e-12))
          .value();
  return infer_load(load, kSource, band_of("10ppm"), error_of(e, 2.0));
}

TEST_CASE("infer_load: small capacitors and none at all are choices") {
  // 7.5 pF across: half a pF is left, two of 1 pF. None is 0.5 pF short:
  // 4000 ppm pF (1/10.5 - 1/11) = 17.3 ppm.
  const LoadInference small = inferred_beside(7.5);
  REQUIRE(small.fit);
  CHECK(pf(small.fit->capacitors.a) == testing::approx(1.0));
  CHECK(std::abs(small.fit->predicted.value()) < 0.1);
  CHECK(small.fit->is_within_limits);
  REQUIRE(small.without);
  CHECK(small.without->predicted.value() ==
        testing::approx(17.3).epsilon(0.01));
  CHECK_FALSE(small.without->is_within_limits);
  // 9 pF across are 1 pF too much alone: 4000 (1/12 - 1/11) = -30.3 ppm.
  const LoadInference none = inferred_beside(9.0);
  REQUIRE(none.fit);
  CHECK(pf(none.fit->capacitors.a) == 0.0);
  CHECK(none.fit->predicted.value() == testing::approx(-30.3).epsilon(0.01));
  CHECK_FALSE(none.fit->is_within_limits);
  CHECK_FALSE(none.without);
  // From each pin the same.
  const LoadInference pins = inferred_beside(18.0, true);
  REQUIRE(pins.fit);
  CHECK(pf(pins.fit->capacitors.a) == 0.0);
  CHECK(pins.fit->predicted.value() == testing::approx(-30.3).epsilon(0.01));
}

TEST_CASE("infer_load: where nothing is advised nothing comes nearer") {
  const unsigned seed = 42;
  CAPTURE(seed);
  std::mt19937_64 random(seed);
  std::uniform_real_distribution<double> stray(0.0, 9.0);
  std::vector<Farads> values =
      preferred_values(ESeries::kE24, Farads(1e-12), Farads(1e-9));
  std::uniform_int_distribution<std::size_t> value(0, 30);
  int silent = 0;
  for (int i = 0; i < 1500; ++i) {
    LoadSpec load = load_spec();
    load.nominal = Farads(8e-12);
    const Farads a = values[value(random)];
    const Farads b = i % 2 == 0 ? a : values[value(random)];
    load.capacitors = CapacitorPair{std::min(a, b), std::max(a, b)};
    const double across = stray(random) * 1e-12;
    const Farads seen =
        load_of(*load.capacitors, {Farads(0.0), Farads(0.0), Farads(across)});
    const double e = load_pull(kCrystal, load.nominal, seen).value();
    const LoadInference inferred =
        infer_load(load, kSource, band_of("100ppb"), error_of(e, 0.1));
    if (inferred.outcome != LoadOutcome::kDiffers) continue;
    REQUIRE(inferred.seen);
    const double now = std::abs(pf(seen) - 8.0);
    CAPTURE(across);
    CAPTURE(pf(load.capacitors->a));
    CAPTURE(pf(load.capacitors->b));
    const auto miss = [&](const CapacitorPair& pair) {
      const Stray beside{Farads(0.0), Farads(0.0), Farads(across)};
      return std::abs(pf(load_of(pair, beside)) - 8.0);
    };
    if (inferred.fit) {
      CHECK(miss(inferred.fit->capacitors) < now);
      continue;
    }
    ++silent;
    constexpr double kRounding = 1e-6;
    CHECK(miss({Farads(0.0), Farads(0.0)}) >= now - kRounding);
    for (const Farads one : values) {
      for (const Farads other : values) {
        if (other < one || other / one > 2.0) continue;
        REQUIRE(miss({one, other}) >= now - kRounding);
      }
    }
  }
  CHECK(silent > 0);
}

TEST_CASE("infer_load: less than the capacitors alone is no ground to change") {
  // 33 pF twice are 16.5 pF; 9 pF are seen.
  LoadSpec load = load_spec();
  load.capacitors = CapacitorPair{Farads(33e-12), Farads(33e-12)};
  const LoadInference wrong =
      infer_load(load, kSource, band_of("10ppm"), error_of(ppm_at(9.0), 2.0));
  CHECK(wrong.outcome == LoadOutcome::kDiffers);
  REQUIRE(wrong.stray->high);
  CHECK(wrong.stray->high->value() < 0.0);
  CHECK_FALSE(wrong.fit);
}

TEST_CASE("infer_load: without capacitors stated the load alone") {
  LoadSpec load = load_spec();
  load.capacitors.reset();
  const LoadInference alone =
      infer_load(load, kSource, band_of("10ppm"), error_of(ppm_at(9.0), 2.0));
  CHECK(pf(*alone.seen) == testing::approx(9.0).epsilon(1e-8));
  CHECK_FALSE(alone.stray);
  CHECK_FALSE(alone.fit);
  CHECK(alone.assumed.empty());
}

}  // namespace
}  // namespace clockassay
