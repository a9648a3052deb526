// SPDX-License-Identifier: GPL-3.0-or-later
#include "clockassay/oscillator/crystal_load.h"

#include <doctest/doctest.h>

#include <cmath>
#include <complex>
#include <random>
#include <string>

#include "clockassay/oscillator/oscillator_gain.h"
#include "support/approx.h"
#include "support/load_vectors.h"

namespace clockassay {
namespace {

using nlohmann::json;
using testing::check_vector;
using testing::claimed_value;
using testing::input;
using testing::load_vector;
using testing::load_vectors;
using testing::plan_trap;

constexpr double kPi = 3.14159265358979323846;

MotionalCrystal crystal_of(const json& row) {
  return {Farads(input(row, "C1")), Farads(input(row, "C0"))};
}

double series_hz(const json& row) {
  return 1.0 / (2.0 * kPi * std::sqrt(input(row, "L1") * input(row, "C1")));
}

// The whole circuit by nodal admittance, which knows nothing of the formulas:
// between the crystal's pins the motional arm, C0, and the load.
struct Circuit {
  double r1, l1, c1, c0;
  std::complex<double> admittance(double hz, double load) const {
    const std::complex<double> jw(0.0, 2.0 * kPi * hz);
    return 1.0 / (r1 + jw * l1 + 1.0 / (jw * c1)) + jw * (c0 + load);
  }
};

// Where the reactance of the crystal is the opposite of the load's: the whole
// admittance has no imaginary part. Between the resonances it goes from minus
// infinity to plus: bisection.
double resonance_hz(const Circuit& circuit, double load, double low_hz,
                    double high_hz) {
  for (int i = 0; i < 200; ++i) {
    const double middle = 0.5 * (low_hz + high_hz);
    (circuit.admittance(middle, load).imag() < 0.0 ? low_hz : high_hz) = middle;
  }
  return low_hz;
}

// C0 by bisection: less of it sets the parallel resonance further away.
double shunt_of(double c1, double ratio) {
  double low = c1;
  double high = 1e6 * c1;
  for (int i = 0; i < 200; ++i) {
    const double middle = 0.5 * (low + high);
    const bool far =
        load_resonance({Farads(c1), Farads(middle)}, Farads(0.0)) > ratio;
    (far ? low : high) = middle;
  }
  return low;
}

TEST_CASE("load_resonance: vectors of a crystal and its loads") {
  // Own vectors E1 to E3: they prove arithmetic only.
  const json& bare = load_vector("E1-E2");
  check_vector(bare, "fs", series_hz(bare));
  // Q = w L1/R1, with L1 from C1 as the start-up takes it.
  const Henries l1 =
      motional_inductance(Hertz(series_hz(bare)), Farads(input(bare, "C1")));
  check_vector(bare, "Q",
               2.0 * kPi * series_hz(bare) * l1.value() / input(bare, "R1"));
  check_vector(bare, "fa",
               series_hz(bare) * load_resonance(crystal_of(bare), Farads(0.0)));
  for (const char* id : {"E3a", "E3b", "E3c"}) {
    const json& row = load_vector(id);
    check_vector(row, "fL_exact",
                 series_hz(row) *
                     load_resonance(crystal_of(row), Farads(input(row, "CL"))));
    // With fL/fs = sqrt(1 + 2 D) the first order is 1 + D, and what it is too
    // much D^2/2, to D^3/2 of it.
    const double exact =
        load_resonance(crystal_of(row), Farads(input(row, "CL")));
    const double d = 0.5 * (exact * exact - 1.0);
    check_vector(row, "fL_approx", series_hz(row) * (1.0 + d));
    CHECK(std::abs(1.0 + d - exact - 0.5 * d * d) <= 0.51 * d * d * d);
  }
}

TEST_CASE("load_resonance: published pairs of series and parallel resonance") {
  // W. Hilberg, Funkuhrtechnik, 1988 (read in a secondary text; recomputed).
  const json& clock = load_vector("W18");
  const double fa =
      series_hz(clock) * load_resonance(crystal_of(clock), Farads(0.0));
  check_vector(clock, "fs", series_hz(clock));
  check_vector(clock, "fa", fa);
  // Its nominal lies between: some load makes it, and only loads do.
  CHECK(series_hz(clock) < 77500.0);
  CHECK(77500.0 < fa);
  // Circuit Cellar, Test Your EQ 67: C0 from fs, fp and C1. The vector's C0 is
  // to 1e-15 of 6.4e-12 F; (fp/fs - 1) = 2.1e-3 follows it as 1/C0.
  const json& puzzle = load_vector("W16");
  const MotionalCrystal known{
      Farads(input(puzzle, "C1")),
      Farads(puzzle["expected"]["C0"]["value"].get<double>())};
  CHECK(std::abs(load_resonance(known, Farads(0.0)) -
                 input(puzzle, "fp") / input(puzzle, "fs")) <=
        2.2e-3 * 1e-15 / 6.37e-12);
  // And the other way: the C0 with which the parallel resonance is at fp.
  check_vector(
      puzzle, "C0",
      shunt_of(input(puzzle, "C1"), input(puzzle, "fp") / input(puzzle, "fs")));
  check_vector(puzzle, "L1",
               motional_inductance(Hertz(input(puzzle, "fs")),
                                   Farads(input(puzzle, "C1")))
                   .value());
  // A 20 MHz crystal in a measuring jig (comment in a public instrument
  // program; recomputed): C1 to 1e-17 of 2.6e-14 F, C0 to 1e-14 of 4.8e-12 F,
  // each moving fp/fs - 1 = 2.7e-3 in proportion.
  const json& jig = load_vector("W17");
  const MotionalCrystal measured{
      Farads(jig["expected"]["C1"]["value"].get<double>()),
      Farads(jig["expected"]["C0"]["value"].get<double>())};
  CHECK(std::abs(load_resonance(measured, Farads(0.0)) -
                 input(jig, "fp") / input(jig, "fs")) <=
        2.8e-3 * (1e-17 / 2.6e-14 + 1e-14 / 4.8e-12));
}

TEST_CASE("motional arm of a crystal in a jig, from loss and bandwidth") {
  // Vector W17, comment in a public instrument program (read; recomputed): a
  // resistance R0 on either side of the crystal. The loss is of R1 in series
  // with both; the bandwidth is of the arm with all three.
  const json& jig = load_vector("W17");
  const double w = 2.0 * kPi * input(jig, "fs");
  const double sides = 2.0 * input(jig, "R0");
  const double r1 = sides * (std::pow(10.0, input(jig, "loss") / 20.0) - 1.0);
  check_vector(jig, "R1", r1);
  const double q = input(jig, "fs") / input(jig, "bw");
  check_vector(jig, "Q", q);
  const double l1 = q * (sides + r1) / w;
  check_vector(jig, "L1", l1);
  const double c1 = 1.0 / (w * w * l1);
  check_vector(jig, "C1", c1);
  check_vector(jig, "C0", shunt_of(c1, input(jig, "fp") / input(jig, "fs")));
  CHECK(motional_inductance(Hertz(input(jig, "fs")), Farads(c1)).value() ==
        testing::approx(l1).epsilon(1e-12));
  // The circuit, which knows nothing of Q: where the current is 1/sqrt(2) of
  // what it is at fs, on either side, is the bandwidth apart, to (bw/fs)^2.
  const Circuit arm{r1, l1, c1, 0.0};
  const auto current = [&](double hz) {
    return 1.0 / std::abs(sides + 1.0 / arm.admittance(hz, 0.0));
  };
  const auto edge = [&](double beyond) {
    double in = input(jig, "fs");
    double out = input(jig, "fs") + beyond;
    for (int i = 0; i < 100; ++i) {
      const double middle = 0.5 * (in + out);
      const bool within =
          current(middle) > current(input(jig, "fs")) / std::sqrt(2.0);
      (within ? in : out) = middle;
    }
    return in;
  };
  CHECK(edge(1e5) - edge(-1e5) ==
        testing::approx(input(jig, "bw")).epsilon(1e-6));
}

TEST_CASE("load_resonance: the circuit solved by itself gives the same") {
  // The solver against a published impedance first: public question on
  // crystal impedance (CC BY-SA), at 1.4 MHz, far below resonance.
  const json& row = load_vector("W24");
  const Circuit published{input(row, "R1"), input(row, "L1"), input(row, "C1"),
                          input(row, "C0")};
  const std::complex<double> whole =
      1.0 / published.admittance(input(row, "f"), 0.0);
  check_vector(row, "X_all", whole.imag());
  check_vector(row, "R_all", whole.real());
  const Circuit shunt{1e30, 1.0, 1.0, input(row, "C0")};
  const double x_c0 = (1.0 / shunt.admittance(input(row, "f"), 0.0)).imag();
  check_vector(row, "X_C0", x_c0);
  const Circuit arm{input(row, "R1"), input(row, "L1"), input(row, "C1"), 0.0};
  check_vector(row, "X_arm",
               (1.0 / arm.admittance(input(row, "f"), 0.0)).imag());
  check_vector(row, "ratio", whole.imag() / x_c0);

  const unsigned seed = 20240611;
  CAPTURE(seed);
  std::mt19937_64 random(seed);
  const auto between = [&](double low, double high) {
    return std::uniform_real_distribution<double>(low, high)(random);
  };
  for (int i = 0; i < 500; ++i) {
    Circuit circuit;
    circuit.c1 = between(1e-15, 30e-15);
    circuit.c0 = circuit.c1 * between(150.0, 500.0);
    circuit.l1 = between(1e-3, 100e-3);
    // R1 towards 0: its first-order effect on the frequency is (R1/(w L1))^2,
    // here below 1e-13.
    circuit.r1 = 1e-4;
    const double load = between(1e-12, 40e-12);
    const double fs = 1.0 / (2.0 * kPi * std::sqrt(circuit.l1 * circuit.c1));
    const double fa = fs * std::sqrt(1.0 + circuit.c1 / circuit.c0);
    const double solved = resonance_hz(circuit, load, fs * (1 + 1e-9), fa);
    const double ratio =
        load_resonance({Farads(circuit.c1), Farads(circuit.c0)}, Farads(load));
    CAPTURE(i);
    CHECK(std::abs(solved / fs / ratio - 1.0) <= 1e-9);
  }
}

// (C1/2)(1/(C0+to) - 1/(C0+from)) in ppm, from the exact pull. With D =
// C1/(2(C0+CL)) and y = sqrt(1+2D), y_to^2 - y_from^2 = 2(D_to - D_from), so
// D_to - D_from = pull * y_from (y_to + y_from)/2, exactly.
double first_order(const MotionalCrystal& crystal, double from, double to) {
  const double y_from =
      std::sqrt(1.0 + crystal.c1.value() / (crystal.c0.value() + from));
  const double y_to =
      std::sqrt(1.0 + crystal.c1.value() / (crystal.c0.value() + to));
  return load_pull(crystal, Farads(from), Farads(to)).value() * y_from *
         (y_to + y_from) / 2.0;
}

TEST_CASE("load_pull: the pull tables and slips") {
  // Own vectors but one: they prove arithmetic only.
  int rows = 0;
  for (const json& row : load_vectors()) {
    if (row["formula"] == "pull_only") {
      check_vector(row, "pull",
                   first_order(crystal_of(row), input(row, "CLnom"),
                               input(row, "CLact")));
      ++rows;
    }
    if (row["formula"] != "pull_table") continue;
    const double nominal = input(row, "CLnom");
    const json& percent = claimed_value(row, "at_percent");
    const json& pull = claimed_value(row, "pull");
    for (std::size_t i = 0; i < percent.size(); ++i) {
      const double load = nominal * (1.0 + percent[i].get<double>() / 100.0);
      CAPTURE(row["id"].get<std::string>());
      CAPTURE(load);
      CHECK(std::abs(first_order(crystal_of(row), nominal, load) -
                     pull["value"][i].get<double>()) <=
            pull["tol_abs"].get<double>());
    }
    ++rows;
  }
  CHECK(rows == 13);  // 6 tables, 7 slips
  // "roughly 25 ppm slow" in the manual of a public calculator is the slope
  // times the change; the pull is less, and both are in the vector.
  const json& manual = load_vector("W15");
  check_vector(manual, "pull",
               first_order(crystal_of(manual), input(manual, "CLnom"),
                           input(manual, "CLact")));
  const double slope = load_sensitivity_ppm_per_f(
      crystal_of(manual), Farads(input(manual, "CLnom")));
  check_vector(manual, "S_magnitude", -slope * 1e-12);
  check_vector(manual, "linear",
               slope * (input(manual, "CLact") - input(manual, "CLnom")));
}

TEST_CASE("load_sensitivity_ppm_per_f: slope and its sign") {
  // Own vectors: they prove arithmetic only.
  const json& row = load_vector("E4-E5-E9");
  check_vector(row, "S",
               1e-12 * load_sensitivity_ppm_per_f(crystal_of(row),
                                                  Farads(input(row, "CL"))));
  for (const json& table : load_vectors()) {
    if (table["formula"] != "pull_table") continue;
    check_vector(table, "S",
                 1e-12 * load_sensitivity_ppm_per_f(
                             crystal_of(table), Farads(input(table, "CLnom"))));
  }
  // To first order C1/(2 (C0 + CL)): exactly, half of what the square of the
  // ratio is above one.
  const double ratio =
      load_resonance(crystal_of(row), Farads(input(row, "CL")));
  check_vector(row, "DL", 0.5 * (ratio * ratio - 1.0) * 1e6);
  // 20 ppm/pF and two 12 pF capacitors 5 % off, 0.3 pF of load: 6 ppm, of a
  // crystal of that slope: C1 = 2 S (C0 + CL)², 3 pF and 12 pF.
  const json& tolerance = load_vector("E20");
  const Farads c0(3e-12);
  const Farads nominal(12e-12);
  const double slope = input(tolerance, "S") * 1e-6;
  const MotionalCrystal steep{
      Farads(2.0 * slope * 1e12 * std::pow((c0 + nominal).value(), 2)), c0};
  const Farads off(input(tolerance, "dCL") * 1e-12);
  const double pull = load_pull(steep, nominal, nominal - off).value();
  // The second order is dCL/(C0 + CL), 2 %.
  const double stated = claimed_value(tolerance, "pull")["value"].get<double>();
  CHECK(std::abs(pull - stated) <= 0.021 * stated);
}

TEST_CASE("load_sensitivity_ppm_per_f: a tuning fork pulls little") {
  // Trap X5, a public calculator manual (read; recomputed): 6 ppm/pF with C1 of
  // 0.8 fF. That takes 2.2 fF beside less C0.
  const json& trap = plan_trap("X5");
  const auto slope = [](double c1, double c0) {
    return -1e-12 * load_sensitivity_ppm_per_f({Farads(c1), Farads(c0)},
                                               Farads(12.5e-12));
  };
  const double right = trap["right"]["value"].get<double>();
  CHECK(std::abs(slope(0.8e-15, 3e-12) - right) <=
        trap["right"]["tol_abs"].get<double>());
  CHECK(slope(0.8e-15, 3e-12) < 0.5 * trap["wrong"]["value"].get<double>());
  CHECK(std::abs(slope(2.2e-15, 1.4e-12) - 5.69) <= 0.006);
}

TEST_CASE("load_pull_limits: no load goes beyond the two resonances") {
  for (const json& row : load_vectors()) {
    if (row["formula"] != "pull_table") continue;
    CAPTURE(row["id"].get<std::string>());
    const MotionalCrystal crystal = crystal_of(row);
    const Farads nominal(input(row, "CLnom"));
    const PullLimits limits = load_pull_limits(crystal, nominal);
    // The vector's limits are of first order: -D and C1/(2 C0) - D. They miss
    // the exact ones by less than (C1/C0)^2/2, the second term of the root.
    const json& expected = claimed_value(row, "limits");
    const double second = 0.5e6 * std::pow(crystal.c1 / crystal.c0, 2) +
                          expected["tol_abs"].get<double>();
    CHECK(std::abs(limits.slowest.value() -
                   expected["value"][0].get<double>()) <= second);
    CHECK(std::abs(limits.fastest.value() -
                   expected["value"][1].get<double>()) <= second);
    CHECK(load_pull(crystal, nominal, Farads(1.0)).value() ==
          testing::approx(limits.slowest.value()).epsilon(1e-9));
    // Nothing beyond is a load.
    for (const double past : {0.01, 10.0, 1e5}) {
      CHECK_FALSE(load_after_pull(crystal, nominal,
                                  Ppm(limits.fastest.value() + past)));
      CHECK_FALSE(load_after_pull(crystal, nominal,
                                  Ppm(limits.slowest.value() - past)));
    }
    CHECK(
        load_after_pull(crystal, nominal, Ppm(limits.fastest.value() - 0.01)));
    CHECK(
        load_after_pull(crystal, nominal, Ppm(limits.slowest.value() + 0.01)));
  }
  // The span fs to fa of C0/C1 = 250 and 180 (own vectors, first order).
  for (const char* id : {"E18a", "E18b"}) {
    const json& row = load_vector(id);
    const MotionalCrystal crystal{Farads(1e-14),
                                  Farads(1e-14 * input(row, "ratio_C0_C1"))};
    const double ratio = load_resonance(crystal, Farads(0.0));
    check_vector(row, "span", 0.5e6 * (ratio * ratio - 1.0));
  }
}

TEST_CASE("load_after_pull: the way back, exactly") {
  // Own vector: the load that gives 16 MHz.
  const json& row = load_vector("E3-inverse");
  const Farads from(9e-12);
  const double f9 = series_hz(row) * load_resonance(crystal_of(row), from);
  const auto load = load_after_pull(crystal_of(row), from,
                                    Ppm((input(row, "f") / f9 - 1.0) * 1e6));
  REQUIRE(load);
  check_vector(row, "CL", load->value());

  const unsigned seed = 7;
  CAPTURE(seed);
  std::mt19937_64 random(seed);
  std::uniform_real_distribution<double> unit(0.0, 1.0);
  for (int i = 0; i < 2000; ++i) {
    const double c1 = 1e-15 + 30e-15 * unit(random);
    const MotionalCrystal crystal{Farads(c1),
                                  Farads(c1 * (150.0 + 400.0 * unit(random)))};
    const Farads nominal(4e-12 + 30e-12 * unit(random));
    const Farads there(0.1e-12 + 60e-12 * unit(random));
    const auto back =
        load_after_pull(crystal, nominal, load_pull(crystal, nominal, there));
    REQUIRE(back);
    // Rounding of (1+d)^2 at 1, 2.2e-16, in an excess of at least
    // C1/(C0+CL) > 1e-15/77e-12 = 1.3e-5; and CL = C1/excess - C0 > 0.1 pF of
    // at most 77 pF: 2.2e-16 / 1.3e-5 * 770, three roundings.
    CHECK(std::abs(*back / there - 1.0) <= 4e-8);
  }
}

}  // namespace
}  // namespace clockassay
