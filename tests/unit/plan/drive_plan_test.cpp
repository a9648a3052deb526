// SPDX-License-Identifier: GPL-3.0-or-later
#include "clockassay/plan/drive_plan.h"

#include <doctest/doctest.h>

#include <algorithm>
#include <cmath>
#include <string>

#include "support/approx.h"
#include "support/load_vectors.h"

namespace clockassay {
namespace {

using testing::check_vector;
using testing::input;
using testing::plan_vector;

DrivePlanInput usual() {
  // Own vector E12b.
  DrivePlanInput in;
  in.frequency = Hertz(12e6);
  in.r1 = Ohms(60);
  in.c0 = Farads(3e-12);
  in.load = Farads(12e-12);
  return in;
}

DrivePlan planned(const DrivePlanInput& in) {
  const auto plan = plan_drive(in);
  REQUIRE_MESSAGE(plan.has_value(), plan.error().message);
  return *plan;
}

bool names(const DrivePlan& plan, const std::string& option) {
  return std::any_of(
      plan.missing.begin(), plan.missing.end(),
      [&](const std::string& m) { return m.starts_with(option); });
}

TEST_CASE("plan_drive: the vector of a usual crystal") {
  DrivePlanInput in = usual();
  in.gm = Siemens(0.005);
  const DrivePlan plan = planned(in);
  const auto& row = plan_vector("E12b");
  check_vector(row, "gm_crit", plan.critical->value());
  check_vector(row, "margin", plan.margin.value());
  // The safety factor is the margin where gm is far below what C3 shorts, here
  // 1/(1 + (w C3 g/A)²) of it: A = 1.25, g = 5e-3/(w 24 pF)² = 1527 ohm,
  // w C3 g/A = 0.2763.
  CHECK(*plan.safety_factor ==
        testing::approx(*plan.margin / (1 + 0.2763 * 0.2763)).epsilon(1e-3));
  CHECK(*plan.safety_factor < *plan.margin);
}

TEST_CASE("plan_drive: unequal legs are the vector's") {
  const auto& row = plan_vector("E12c");
  DrivePlanInput in;
  in.frequency = Hertz(input(row, "f"));
  in.r1 = Ohms(input(row, "R1"));
  in.c0 = Farads(input(row, "C0"));
  in.legs = CapacitorPair{Farads(input(row, "Ca")), Farads(input(row, "Cb"))};
  in.load = Farads(9e-12);
  check_vector(row, "gm_crit", planned(in).critical->value());
  // More load than the legs: the rest is from pin to pin.
  in.load = Farads(10e-12);
  CHECK(planned(in).legs.across.value() == testing::approx(1e-12));
  // Less: they contradict each other.
  in.load = Farads(8e-12);
  const auto refused = plan_drive(in);
  REQUIRE_FALSE(refused.has_value());
  CHECK(refused.error().code == ErrorCode::kUsage);
  CHECK(refused.error().message ==
        "--legs: found 12 pF and 36 pF, 9 pF in series, expected no more than "
        "the load, 8 pF");
}

TEST_CASE("plan_drive: drive without a resistor, with, and as fitted") {
  // Own vector E10: RL 60 ohm and 20 pF in the leg, 1 V. With C0 next to
  // nothing R1 is RL.
  const auto& row = plan_vector("E10");
  DrivePlanInput in;
  in.frequency = Hertz(16e6);
  in.r1 = Ohms(60);
  in.c0 = Farads(1e-17);
  in.load = Farads(10e-12);
  in.swing = Volts(1.0);
  in.series_resistor = Ohms(1000);
  in.drive_limit = Watts(10e-6);
  const DrivePlan plan = planned(in);
  check_vector(row, "P", plan.without->power.value());
  check_vector(row, "Irms", plan.without->current_rms.value());
  CHECK(plan.with_start->power < plan.without->power);
  CHECK(plan.with_fitted->power < plan.with_start->power);
  // 1/(w C) = 497.36 ohm; 1/(60/497.36²) = 4122.8 ohm shown to the resistor.
  CHECK(plan.series_start.value() == testing::approx(497.36).epsilon(1e-4));
  CHECK(plan.with_fitted->swing.value() ==
        testing::approx(4122.8 / 5122.8).epsilon(1e-4));
  // The resistor named keeps the limit.
  REQUIRE(plan.series_for_limit);
  in.series_resistor = plan.series_for_limit;
  CHECK(planned(in).with_fitted->power.value() ==
        testing::approx(10e-6).epsilon(1e-9));
}

TEST_CASE("plan_drive: what is missing is named, and nothing made of it") {
  const DrivePlan plan = planned(usual());
  for (const char* option : {"--gm", "--swing", "--drive-limit", "--legs"}) {
    CHECK_MESSAGE(names(plan, option), option);
  }
  CHECK_FALSE(plan.margin);
  CHECK_FALSE(plan.safety_factor);
  CHECK_FALSE(plan.start_up);
  CHECK_FALSE(plan.without);
  CHECK_FALSE(plan.series_for_limit);
  CHECK_FALSE(plan.measured_safety_factor);
}

TEST_CASE("plan_drive: an output resistance and a resistor take gain") {
  // The nodes of a review: 24 MHz, two legs of 24 pF, gm 5 mS, 2 kohm: 206 ohm
  // without a resistor, 188 with 220; 1 kohm: 94 with 1 kohm.
  DrivePlanInput in = usual();
  in.frequency = Hertz(24e6);
  in.gm = Siemens(0.005);
  const DrivePlan ideal = planned(in);
  CHECK(names(ideal, "--output-resistance"));
  CHECK_FALSE(ideal.gain_without);
  CHECK(ideal.negative->value() == testing::approx(240).epsilon(0.01));
  in.output_resistance = Ohms(2000);
  in.series_resistor = Ohms(220);
  const DrivePlan plan = planned(in);
  CHECK_FALSE(names(plan, "--output-resistance"));
  REQUIRE(plan.gain_without);
  REQUIRE(plan.gain_as_fitted);
  CHECK(plan.gain_without->negative.value() ==
        testing::approx(206).epsilon(0.005));
  CHECK(plan.gain_as_fitted->negative.value() ==
        testing::approx(188).epsilon(0.005));
  CHECK(plan.gain_as_fitted->safety_factor ==
        testing::approx(188.0 / 60.0).epsilon(0.005));
  CHECK(*plan.gain_as_fitted->margin < *plan.gain_without->margin);
  CHECK(*plan.gain_without->margin < *plan.margin);
  // The start is of what is fitted.
  CHECK(plan.start_up->growth_low > ideal.start_up->growth_low);
  in.output_resistance = Ohms(1000);
  in.series_resistor = Ohms(1000);
  CHECK(planned(in).gain_as_fitted->negative.value() ==
        testing::approx(94).epsilon(0.005));
}

TEST_CASE("plan_drive: where no gain starts there is no critical one") {
  // C0 of 20 pF at 24 MHz beside two legs of 10 pF: A = 5, at most
  // 1/(2 · 5 · w · 20 pF) = 33 ohm, less than R1.
  DrivePlanInput in = usual();
  in.frequency = Hertz(24e6);
  in.c0 = Farads(20e-12);
  in.load = Farads(5e-12);
  in.gm = Siemens(0.0171);
  const DrivePlan plan = planned(in);
  CHECK(plan.most_negative.value() == testing::approx(33.2).epsilon(0.005));
  CHECK_FALSE(plan.critical);
  CHECK_FALSE(plan.margin);
  CHECK_FALSE(plan.asked_for);
  CHECK(*plan.safety_factor < 1.0);
  CHECK_FALSE(plan.start_up);
  // Far too much gain is said.
  in = usual();
  in.gm = Siemens(1.0);
  CHECK(planned(in).too_much_gain);
  in.gm = Siemens(0.005);
  CHECK_FALSE(planned(in).too_much_gain);
}

TEST_CASE("plan_drive: no margin above one where nothing starts") {
  // Far too much gain: C0 shorts the amplifier. By the formula of R' itself,
  // which knows nothing of the range: R1 at both ends, more within, less
  // beyond.
  DrivePlanInput in = usual();
  in.frequency = Hertz(16e6);
  in.r1 = Ohms(66);
  in.gm = Siemens(1.0);
  const DrivePlan plan = planned(in);
  REQUIRE(plan.starts);
  for (const Siemens end : {plan.starts->least, plan.starts->most}) {
    CHECK(negative_resistance(in.frequency, end, in.c0, plan.legs).value() ==
          testing::approx(66.0).epsilon(1e-9));
  }
  CHECK(*plan.safety_factor < 1.0);
  CHECK_FALSE(plan.start_up);
  CHECK_FALSE(plan.margin);
  CHECK(*in.gm > plan.starts->most);
  // Near the most negative resistance the first-order formula is too small:
  // half of it.
  in.r1 = 0.999 * plan.most_negative;
  in.gm = 1.2 * planned(in).critical.value();
  const DrivePlan near = planned(in);
  CHECK(near.starts->least.value() / near.critical->value() ==
        testing::approx(2.0).epsilon(0.1));
  CHECK_FALSE(near.start_up);
  CHECK_FALSE(near.margin);
  // Within the range it starts, and has a margin, everywhere.
  for (const double r1 : {5.0, 60.0, 400.0, 1000.0}) {
    in.r1 = Ohms(r1);
    for (double gm = 1e-5; gm < 1.0; gm *= 1.3) {
      in.gm = Siemens(gm);
      const DrivePlan any = planned(in);
      CAPTURE(r1);
      CAPTURE(gm);
      const bool within =
          any.starts && *in.gm > any.starts->least && *in.gm < any.starts->most;
      CHECK(any.start_up.has_value() == within);
      CHECK((any.margin && *any.margin >= 1.0) == within);
    }
  }
}

TEST_CASE("plan_drive: more than the crystal bears is said") {
  // A fork on 3.3 V, no resistor: RL = 70 (13.7/12.5)² = 84.09 kohm, I = pi f
  // Vpp C/sqrt(2) = 6.005 uA, 3.03 uW.
  DrivePlanInput in = usual();
  in.frequency = Hertz(32768);
  in.r1 = Ohms(70e3);
  in.c0 = Farads(1.2e-12);
  in.load = Farads(12.5e-12);
  CHECK_FALSE(planned(in).excess);
  in.swing = Volts(3.3);
  const DrivePlan plan = planned(in);
  REQUIRE(plan.excess);
  CHECK(plan.excess->is_usual);
  CHECK(plan.excess->power.value() == testing::approx(3.03e-6).epsilon(2e-3));
  // The resistor named does it.
  REQUIRE(plan.excess->series);
  in.series_resistor = plan.excess->series;
  CHECK(planned(in).with_fitted->power.value() ==
        testing::approx(kForkDriveHigh.value()));
  // A limit that is stated counts, whatever is usual.
  in.drive_limit = Watts(5e-6);
  CHECK_FALSE(planned(in).excess);
  in.drive_limit = Watts(0.5e-6);
  CHECK_FALSE(planned(in).excess->is_usual);
  // Of a crystal in megahertz nothing is known without one.
  in = usual();
  in.swing = Volts(3.3);
  CHECK_FALSE(planned(in).excess);
}

TEST_CASE("plan_drive: a load rounded to its digits goes with its legs") {
  // 27 and 30 pF are 14.2105 pF.
  DrivePlanInput in = usual();
  in.load = Farads(14.21e-12);
  in.legs = CapacitorPair{Farads(27e-12), Farads(30e-12)};
  CHECK(planned(in).legs.across == Farads(0.0));
}

TEST_CASE("plan_drive: too little gain never starts") {
  DrivePlanInput in = usual();
  in.gm = Siemens(0.0002);  // critical: 0.307 mS
  const DrivePlan plan = planned(in);
  CHECK(*plan.margin < 1.0);
  CHECK_FALSE(plan.start_up);
  in.gm = Siemens(0.005);
  const DrivePlan good = planned(in);
  REQUIRE(good.start_up);
  CHECK(good.start_up->growth_low < good.start_up->growth_high);
  CHECK_FALSE(good.c1_assumed.empty());
  in.c1 = Farads(8e-15);
  const DrivePlan known = planned(in);
  CHECK(known.start_up->growth_low == known.start_up->growth_high);
  // L1 = 1/(w² 8 fF) = 21.99 mH; R' = 16.287/1.0763 * 60 = 907.9 ohm.
  CHECK(known.start_up->growth_low.value() ==
        testing::approx(2 * 0.02199 / (907.9 - 60)).epsilon(2e-3));
}

TEST_CASE("plan_drive: by the resistor with which it still starts") {
  // (R + RL)/RL (an MCU maker's note on 32 kHz crystals): RL = 60 (15/12)² =
  // 93.75 ohm.
  DrivePlanInput in = usual();
  in.still_starts = Ohms(375);
  CHECK(*planned(in).measured_safety_factor == testing::approx(5.0));
}

TEST_CASE("plan_drive: 27 MHz may be an overtone, 16 MHz is not warned of") {
  DrivePlanInput in = usual();
  in.frequency = Hertz(27e6);
  CHECK(planned(in).maybe_overtone);
  in.frequency = Hertz(16e6);
  CHECK_FALSE(planned(in).maybe_overtone);
}

TEST_CASE("board_gain: as near to the board as what is stated") {
  DrivePlanInput in = usual();
  in.gm = Siemens(0.005);
  in.series_resistor = Ohms(1000);
  // A resistor says nothing of an amplifier that is ideal.
  const DrivePlan ideal = planned(in);
  CHECK(board_gain(ideal).of == BoardGainOf::kIdealAmplifier);
  CHECK(board_gain(ideal).margin == ideal.margin);
  in.output_resistance = Ohms(2000);
  const DrivePlan fitted = planned(in);
  CHECK(board_gain(fitted).of == BoardGainOf::kAsFitted);
  REQUIRE(board_gain(fitted).margin);
  CHECK(*board_gain(fitted).margin < *ideal.margin);
  CHECK(board_gain(fitted).negative < *ideal.negative);
  in.series_resistor.reset();
  const DrivePlan none = planned(in);
  CHECK(board_gain(none).of == BoardGainOf::kWithoutResistor);
  CHECK(*board_gain(none).margin > *board_gain(fitted).margin);
  CHECK(*board_gain(none).margin < *ideal.margin);
}

}  // namespace
}  // namespace clockassay
