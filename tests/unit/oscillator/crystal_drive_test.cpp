// SPDX-License-Identifier: GPL-3.0-or-later
#include "clockassay/oscillator/crystal_drive.h"

#include <doctest/doctest.h>

#include <Eigen/Dense>
#include <cmath>
#include <complex>
#include <random>

#include "clockassay/oscillator/load_network.h"
#include "clockassay/oscillator/oscillator_gain.h"
#include "support/approx.h"
#include "support/load_vectors.h"

namespace clockassay {
namespace {

using nlohmann::json;
using testing::check_vector;
using testing::input;
using testing::plan_vector;
using testing::plan_vectors;

constexpr double kTwoPi = 6.28318530717958647693;

TEST_CASE("drive: vectors") {
  // Own vectors: arithmetic only. No published numeric example was found.
  const json& row = plan_vector("E10");
  const Amperes current =
      crystal_current_rms(Hertz(input(row, "f")), Volts(input(row, "Vpp")),
                          Farads(input(row, "Cleg")));
  check_vector(row, "Irms", current.value());
  check_vector(row, "P", drive_power(Ohms(input(row, "RL")), current).value());
  const json& limit = plan_vector("E11");
  const Amperes most =
      largest_current(Watts(input(limit, "P")), Ohms(input(limit, "RL")));
  check_vector(limit, "Ipp", most.value());
  // And the swing of such a current makes it again.
  const Volts swing = swing_for_current(Hertz(16e6), most, Farads(20e-12));
  CHECK(crystal_current_rms(Hertz(16e6), swing, Farads(20e-12)).value() ==
        testing::approx(most.value() / std::sqrt(8.0)).epsilon(1e-12));
}

TEST_CASE("series_resistor_start: vectors") {
  // An introduction to the Pierce gate (2008) prints 1.1 kohm for W25, via a
  // public build log; the other is an own vector.
  for (const char* id : {"E13a", "W25"}) {
    const json& row = plan_vector(id);
    check_vector(
        row, "Rs",
        series_resistor_start(Hertz(input(row, "f")), Farads(input(row, "C")))
            .value());
  }
  // What a probe is to a pin: an MCU maker's note, section 5 (read in a
  // retyped extract; recomputed), prints three digits.
  int rows = 0;
  for (const json& row : plan_vectors()) {
    if (row["formula"] != "reactance2") continue;
    for (const auto& [c, z] : {std::pair("Ca", "Za"), std::pair("Cb", "Zb")}) {
      check_vector(
          row, z,
          series_resistor_start(Hertz(input(row, "f")), Farads(input(row, c)))
              .value());
    }
    ++rows;
  }
  CHECK(rows == 5);
}

TEST_CASE("drive: the whole leg counts, not half the stray") {
  // Trap X18 (public oscillator notes): stray across, halved and added to one
  // leg. 4 pF across are 8 pF at each pin: of 15 pF fitted the leg has 23 pF,
  // and by the slip 17.
  CHECK(testing::plan_trap("X18")["wrong"].is_null());
  const Stray per_pin{Farads(8e-12), Farads(8e-12), Farads(0.0)};
  const Stray across{Farads(0.0), Farads(0.0), Farads(4e-12)};
  const CapacitorPair fitted{Farads(15e-12), Farads(15e-12)};
  CHECK(load_of(fitted, per_pin).value() ==
        testing::approx(load_of(fitted, across).value()));
  const auto power = [](const OscillatorLegs& legs) {
    const Ohms rl = leg_resistance(Ohms(60), Farads(3e-12), legs);
    return drive_power(rl,
                       crystal_current_rms(Hertz(16e6), Volts(1), legs.output));
  };
  const OscillatorLegs whole{Farads(23e-12), Farads(23e-12)};
  const OscillatorLegs slip{Farads(17e-12), Farads(17e-12)};
  // RL = R1 (1 + 2 C0/leg)² and I ~ leg: the power goes with (leg + 2 C0)².
  CHECK(power(whole) / power(slip) ==
        testing::approx(std::pow(29.0 / 23.0, 2)).epsilon(1e-12));
}

// A generator in the place of the amplifier, a resistor, the legs, the crystal
// where its reactance is the opposite of the load's: the power in R1, by nodes.
double solved_power(double hz, double r1, double c0, const OscillatorLegs& legs,
                    double series, double swing) {
  using Complex = std::complex<double>;
  const Complex jw(0.0, kTwoPi * hz);
  const double c3 = c0 + legs.across.value();
  const double in = legs.input.value();
  const double out = legs.output.value();
  // The motional arm meets the legs in series, C3 beside them.
  const double cs = in * out / (in + out);
  const Complex arm_z(r1, -(1.0 / (jw * (c3 + cs))).imag());
  const Complex between = jw * c3 + 1.0 / arm_z;
  Eigen::Matrix2cd y;
  y << jw * in + between, -between, -between, jw * out + between + 1.0 / series;
  const Eigen::Vector2cd v =
      y.fullPivLu().solve(Eigen::Vector2cd(0.0, swing / series));
  const double current_pp = std::abs((v[1] - v[0]) / arm_z);
  return r1 * current_pp * current_pp / 8.0;
}

TEST_CASE("drive: as the nodes solve it, with and without a resistor") {
  const unsigned seed = 20250120;
  CAPTURE(seed);
  std::mt19937_64 random(seed);
  const auto between = [&](double low, double high) {
    return std::uniform_real_distribution<double>(low, high)(random);
  };
  for (int i = 0; i < 500; ++i) {
    const double hz = between(4e6, 25e6);
    const double r1 = between(5.0, 60.0);
    const double c0 = between(0.5e-12, 4e-12);
    const OscillatorLegs legs{Farads(between(10e-12, 30e-12)),
                              Farads(between(10e-12, 30e-12)),
                              Farads(between(0.0, 1e-12))};
    const double series = i % 2 == 0 ? 1e-6 : between(100.0, 3000.0);
    const Ohms rl = leg_resistance(Ohms(r1), Farads(c0), legs);
    const double at_crystal =
        series_resistor_ratio(Hertz(hz), Ohms(series), rl, legs.output);
    const double formula =
        drive_power(
            rl, crystal_current_rms(Hertz(hz), Volts(at_crystal), legs.output))
            .value();
    CAPTURE(i);
    // What is left out is of second order in RL/X, X the reactance of the leg:
    // in the current through R1 (RL/X)², in the divider R/X (RL/X)², twice each
    // in the power.
    const double x = 1.0 / (kTwoPi * hz * legs.output.value());
    const double small = std::pow(rl.value() / x, 2);
    const double second = 2.0 * small + std::pow(series / x * small, 2);
    const double c3_part = 2.0 * std::pow(rl.value() * kTwoPi * hz * c0, 2);
    CHECK(std::abs(formula / solved_power(hz, r1, c0, legs, series, 1.0) -
                   1.0) <= 2.0 * second + c3_part);
  }
}

TEST_CASE("series_resistor_for: the limit, and no resistor where none is due") {
  const Hertz f(16e6);
  const Farads leg(24e-12);
  const Ohms rl(60);
  const Watts without =
      drive_power(rl, crystal_current_rms(f, Volts(3.3), leg));
  const auto resistor = series_resistor_for(f, without, Watts(100e-6), rl, leg);
  REQUIRE(resistor);
  const Volts then(3.3 * series_resistor_ratio(f, *resistor, rl, leg));
  CHECK(drive_power(rl, crystal_current_rms(f, then, leg)).value() ==
        testing::approx(100e-6).epsilon(1e-12));
  CHECK_FALSE(series_resistor_for(f, without, Watts(1e-3), rl, leg));
}

}  // namespace
}  // namespace clockassay
