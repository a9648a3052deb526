// SPDX-License-Identifier: GPL-3.0-or-later
#include "clockassay/oscillator/oscillator_gain.h"

#include <doctest/doctest.h>

#include <Eigen/Dense>
#include <cmath>
#include <complex>
#include <random>

#include "clockassay/oscillator/crystal_load.h"
#include "support/approx.h"
#include "support/load_vectors.h"

namespace clockassay {
namespace {

using nlohmann::json;
using testing::check_vector;
using testing::input;
using testing::load_vector;
using testing::plan_vector;
using Complex = std::complex<double>;

constexpr double kPi = 3.14159265358979323846;

Hertz frequency_of(const json& row) {
  return Hertz(input(row, "f"));
}

Siemens critical(const json& row, const OscillatorLegs& legs) {
  return critical_transconductance(frequency_of(row), Ohms(input(row, "R1")),
                                   Farads(input(row, "C0")), legs);
}

TEST_CASE("load_resonance_resistance: vector") {
  // Own vector E9: arithmetic only.
  const json& row = load_vector("E4-E5-E9");
  check_vector(row, "RL",
               load_resonance_resistance(Ohms(input(row, "R1")),
                                         Farads(input(row, "C0")),
                                         Farads(input(row, "CL")))
                   .value());
}

TEST_CASE("critical_transconductance: vectors, both forms of it") {
  // Formula: E. Vittoz, M. Degrauwe, S. Bitz, IEEE JSSC 23(3), 1988; the
  // numbers are own vectors.
  const json& row = plan_vector("E12a");
  const Farads load(input(row, "CL"));
  const Farads c0(input(row, "C0"));
  check_vector(row, "gm_crit", critical(row, equal_legs(load)).value());
  // 4 RL w² CL² is the same.
  const double rl =
      load_resonance_resistance(Ohms(input(row, "R1")), c0, load).value();
  const double w = 2.0 * kPi * input(row, "f");
  check_vector(row, "gm_crit_from_RL",
               4.0 * rl * std::pow(w * load.value(), 2));

  const json& usual = plan_vector("E12b");
  const Siemens needed =
      critical(usual, equal_legs(Farads(input(usual, "CL"))));
  check_vector(usual, "gm_crit", needed.value());
  check_vector(usual, "margin", Siemens(input(usual, "gm")) / needed);

  const json& unequal = plan_vector("E12c");
  check_vector(unequal, "gm_crit",
               critical(unequal, {Farads(input(unequal, "Ca")),
                                  Farads(input(unequal, "Cb"))})
                   .value());
}

TEST_CASE("critical_transconductance: C0 counts once") {
  // Trap X17 (public oscillator notes; truth recomputed): RL in the place of R1
  // beside C0 + CL counts (1 + C0/CL)² twice, 1.55 times too much here.
  const json& row = plan_vector("E12a");
  const Farads load(input(row, "CL"));
  const Farads c0(input(row, "C0"));
  const Ohms r1(input(row, "R1"));
  const Siemens right = critical(row, equal_legs(load));
  const Siemens wrong = critical_transconductance(
      frequency_of(row), load_resonance_resistance(r1, c0, load), c0,
      equal_legs(load));
  const json& trap = testing::plan_trap("X17");
  CHECK(std::abs(wrong.value() - trap["wrong"]["value"].get<double>()) <=
        trap["wrong"]["tol_abs"].get<double>());
  CHECK(std::abs(right.value() - trap["right"]["value"].get<double>()) <=
        trap["right"]["tol_abs"].get<double>());
  CHECK(wrong / right ==
        testing::approx(std::pow(1.0 + c0 / load, 2)).epsilon(1e-12));
  // Trap X1 (hobby article): F/(2 pi ESR sqrt(C0 CL)) falls with the crystal's
  // resistance; twice the resistance wants twice the gain.
  CHECK(testing::plan_trap("X1")["wrong"].is_null());
  CHECK(critical_transconductance(frequency_of(row), 2.0 * r1, c0,
                                  equal_legs(load)) /
            right ==
        testing::approx(2.0).epsilon(1e-12));
}

TEST_CASE("growth_time: vectors") {
  // Formula: E. Vittoz, M. Degrauwe, S. Bitz, IEEE JSSC 23(3), 1988; the
  // numbers are own vectors.
  for (const char* id : {"E16a", "E16b"}) {
    const json& row = plan_vector(id);
    check_vector(row, "tau",
                 growth_time(Henries(input(row, "L1")), Ohms(input(row, "R1")),
                             Ohms(input(row, "Rneg_motional")))
                     .value());
  }
  // Trap X4 (a data sheet's table; truth recomputed): a fork of 2.2 fF has
  // 10.72 kH, not 10.7 mH, which would resonate at 32.8 MHz.
  const json& trap = testing::plan_trap("X4");
  CHECK(std::abs(motional_inductance(Hertz(32768), Farads(2.2e-15)).value() -
                 trap["right"]["value"].get<double>()) <=
        trap["right"]["tol_abs"].get<double>());
  const double wrong_hz = 1.0 / (2.0 * kPi * std::sqrt(10.7e-3 * 2.2e-15));
  CHECK(std::abs(wrong_hz / 1e6 - trap["wrong"]["value"].get<double>()) <=
        trap["wrong"]["tol_abs"].get<double>());
}

// The circuit as nodes: input and output pin, ground the reference. It knows
// nothing of the formulas.
struct Board {
  double hz, r1, c0, in, out, across;
  double gm = 0.0;

  Complex jw() const { return {0.0, 2.0 * kPi * hz}; }

  Eigen::Matrix2cd nodes(Complex arm) const {
    const Complex between = jw() * (c0 + across) + arm;
    Eigen::Matrix2cd y;
    y << jw() * in + between, -between, -between + gm, jw() * out + between;
    return y;
  }

  /// What a current from output to input meets.
  Complex impedance(Complex arm) const {
    const Eigen::Vector2cd current(1.0, -1.0);
    const Eigen::Vector2cd v = nodes(arm).fullPivLu().solve(current);
    return v[0] - v[1];
  }

  OscillatorLegs legs() const {
    return {Farads(in), Farads(out), Farads(across)};
  }
};

Board any_board(std::mt19937_64& random) {
  const auto between = [&](double low, double high) {
    return std::uniform_real_distribution<double>(low, high)(random);
  };
  return {between(1e6, 40e6),      between(5.0, 100.0),
          between(0.5e-12, 6e-12), between(5e-12, 50e-12),
          between(5e-12, 50e-12),  between(0.0, 3e-12)};
}

TEST_CASE("negative_resistance: as the nodes solve it") {
  const unsigned seed = 20250117;
  CAPTURE(seed);
  std::mt19937_64 random(seed);
  for (int i = 0; i < 500; ++i) {
    Board board = any_board(random);
    const double needed =
        critical_transconductance(Hertz(board.hz), Ohms(board.r1),
                                  Farads(board.c0), board.legs())
            .value();
    std::uniform_real_distribution<double> decades(-2.0, 2.0);
    board.gm = needed * std::pow(10.0, decades(random));
    CAPTURE(i);
    const double solved = -board.impedance(0.0).real();
    const double formula =
        negative_resistance(Hertz(board.hz), Siemens(board.gm),
                            Farads(board.c0), board.legs())
            .value();
    // Rounding: the real part is left of an impedance up to 1e6 times as large.
    CHECK(formula == testing::approx(solved).epsilon(1e-9));
    CHECK(formula <= most_negative_resistance(Hertz(board.hz), Farads(board.c0),
                                              board.legs())
                             .value() *
                         (1.0 + 1e-12));
  }
}

TEST_CASE("critical_transconductance: there the nodes just hold the crystal") {
  const unsigned seed = 20250118;
  CAPTURE(seed);
  std::mt19937_64 random(seed);
  for (int i = 0; i < 500; ++i) {
    Board board = any_board(random);
    const OscillatorLegs legs = board.legs();
    const double most =
        most_negative_resistance(Hertz(board.hz), Farads(board.c0), legs)
            .value();
    board.gm = critical_transconductance(Hertz(board.hz), Ohms(board.r1),
                                         Farads(board.c0), legs)
                   .value();
    CAPTURE(i);
    // The formula is the first order of R'/R1 = 1/(1 + (R1/2 R'max)²), because
    // g w C3/A = R1 A w C3 = R1/(2 R'max) at its gm.
    const double second = std::pow(board.r1 / (2.0 * most), 2);
    CHECK(-board.impedance(0.0).real() ==
          testing::approx(board.r1 / (1.0 + second)).epsilon(1e-9));
  }
}

// Input pin, output pin, and the amplifier's own output: what a current from
// pin to pin sees, which is what the motional arm sees.
double solved_behind(double hz, double gm, double c0,
                     const OscillatorLegs& legs, double output, double series) {
  const Complex jw(0.0, 2.0 * kPi * hz);
  const Complex c3 = jw * (c0 + legs.across.value());
  Eigen::Matrix3cd y;
  y << jw * legs.input.value() + c3, -c3, 0.0,                           //
      -c3, jw * legs.output.value() + c3 + 1.0 / series, -1.0 / series,  //
      gm, -1.0 / series, 1.0 / series + 1.0 / output;
  const Eigen::Vector3cd v =
      y.fullPivLu().solve(Eigen::Vector3cd(1.0, -1.0, 0.0));
  return -(v[0] - v[1]).real();
}

TEST_CASE("negative_resistance_behind: as three nodes solve it") {
  const unsigned seed = 20250123;
  CAPTURE(seed);
  std::mt19937_64 random(seed);
  const auto between = [&](double low, double high) {
    return std::uniform_real_distribution<double>(low, high)(random);
  };
  for (int i = 0; i < 500; ++i) {
    const double hz = between(1e6, 30e6);
    const double gm = between(1e-3, 20e-3);
    const double c0 = between(0.5e-12, 5e-12);
    const OscillatorLegs legs{Farads(between(8e-12, 40e-12)),
                              Farads(between(8e-12, 40e-12)),
                              Farads(between(0.0, 2e-12))};
    const double output = between(200.0, 50e3);
    const double series = between(1.0, 3000.0);
    const OutputPath path{Ohms(output), Ohms(series)};
    CAPTURE(i);
    const double nodes = solved_behind(hz, gm, c0, legs, output, series);
    CHECK(negative_resistance_behind(Hertz(hz), Siemens(gm), Farads(c0), legs,
                                     path)
              .value() == testing::approx(nodes).epsilon(1e-9));
    // The gm named just holds R1, by the nodes.
    const auto critical = critical_behind(Hertz(hz), Ohms(10), Siemens(gm),
                                          Farads(c0), legs, path);
    CHECK(critical.has_value() == (nodes > 10.0));
    if (!critical) continue;
    CHECK(solved_behind(hz, critical->value(), c0, legs, output, series) ==
          testing::approx(10.0).epsilon(1e-6));
  }
  // Of a current source nothing is left out.
  const OscillatorLegs legs = equal_legs(Farads(12e-12));
  CHECK(negative_resistance_behind(Hertz(12e6), Siemens(5e-3), Farads(3e-12),
                                   legs, {Ohms(1e12), Ohms(0.0)})
            .value() ==
        testing::approx(
            negative_resistance(Hertz(12e6), Siemens(5e-3), Farads(3e-12), legs)
                .value())
            .epsilon(1e-6));
}

TEST_CASE("best_transconductance: the most is there, and on neither side") {
  const OscillatorLegs legs{Farads(20e-12), Farads(30e-12), Farads(1e-12)};
  const Farads c0(3e-12);
  const Hertz f(16e6);
  const Siemens best = best_transconductance(f, c0, legs);
  const Ohms most = most_negative_resistance(f, c0, legs);
  CHECK(negative_resistance(f, best, c0, legs).value() ==
        testing::approx(most.value()).epsilon(1e-12));
  CHECK(negative_resistance(f, 0.8 * best, c0, legs) < most);
  CHECK(negative_resistance(f, 1.25 * best, c0, legs) < most);
}

TEST_CASE("load_resonance: crystal, legs and stray solved as nodes") {
  const unsigned seed = 20250119;
  CAPTURE(seed);
  std::mt19937_64 random(seed);
  for (int i = 0; i < 500; ++i) {
    Board board = any_board(random);
    std::uniform_real_distribution<double> c0_over_c1(180.0, 500.0);
    const double c1 = board.c0 / c0_over_c1(random);
    const double l1 = motional_inductance(Hertz(board.hz), Farads(c1)).value();
    // R1 towards 0: its effect on the frequency is of second order in 1/Q.
    const double r1 = 1e-4;
    const double fs = board.hz;
    double low = fs * (1.0 + 1e-9);
    double high = fs * std::sqrt(1.0 + c1 / board.c0);
    for (int step = 0; step < 100; ++step) {
      board.hz = 0.5 * (low + high);
      const Complex arm =
          1.0 / (r1 + board.jw() * l1 + 1.0 / (board.jw() * c1));
      const double susceptance = (1.0 / board.impedance(arm)).imag();
      (susceptance < 0.0 ? low : high) = board.hz;
    }
    const double ratio = load_resonance({Farads(c1), Farads(board.c0)},
                                        load_of_legs(board.legs()));
    CAPTURE(i);
    CHECK(std::abs(low / fs / ratio - 1.0) <= 1e-9);
  }
}

}  // namespace
}  // namespace clockassay
