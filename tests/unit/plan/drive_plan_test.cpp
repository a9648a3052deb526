// SPDX-License-Identifier: GPL-3.0-or-later
#include "clockassay/plan/drive_plan.h"

#include <doctest/doctest.h>

#include <algorithm>
#include <cmath>
#include <string>

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
  check_vector(row, "gm_crit", plan.critical.value());
  check_vector(row, "margin", plan.margin.value());
  // The safety factor is the margin where gm is far below what C3 shorts, here
  // 1/(1 + (w C3 g/A)²) of it: A = 1.25, g = 5e-3/(w 24 pF)² = 1527 ohm,
  // w C3 g/A = 0.2763.
  CHECK(*plan.safety_factor ==
        doctest::Approx(*plan.margin / (1 + 0.2763 * 0.2763)).epsilon(1e-3));
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
  check_vector(row, "gm_crit", planned(in).critical.value());
  // More load than the legs: the rest is from pin to pin.
  in.load = Farads(10e-12);
  CHECK(planned(in).legs.across.value() == doctest::Approx(1e-12));
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
  CHECK(plan.series_start.value() == doctest::Approx(497.36).epsilon(1e-4));
  CHECK(plan.with_fitted->swing.value() ==
        doctest::Approx(4122.8 / 5122.8).epsilon(1e-4));
  // The resistor named keeps the limit.
  REQUIRE(plan.series_for_limit);
  in.series_resistor = plan.series_for_limit;
  CHECK(planned(in).with_fitted->power.value() ==
        doctest::Approx(10e-6).epsilon(1e-9));
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
        doctest::Approx(2 * 0.02199 / (907.9 - 60)).epsilon(2e-3));
}

TEST_CASE("plan_drive: by the resistor with which it still starts") {
  // (R + RL)/RL (an MCU maker's note on 32 kHz crystals): RL = 60 (15/12)² =
  // 93.75 ohm.
  DrivePlanInput in = usual();
  in.still_starts = Ohms(375);
  CHECK(*planned(in).measured_safety_factor == doctest::Approx(5.0));
}

TEST_CASE("plan_drive: 27 MHz may be an overtone, 16 MHz is not warned of") {
  DrivePlanInput in = usual();
  in.frequency = Hertz(27e6);
  CHECK(planned(in).maybe_overtone);
  in.frequency = Hertz(16e6);
  CHECK_FALSE(planned(in).maybe_overtone);
}

}  // namespace
}  // namespace clockassay
