// SPDX-License-Identifier: GPL-3.0-or-later
#include "clockassay/drift/part.h"

#include <doctest/doctest.h>

#include <cmath>
#include <random>

#include "support/approx.h"
#include "unit/drift/series.h"

using namespace clockassay;
using namespace clockassay::testing;

namespace {

CurvePlace at(double temperature_c, std::optional<double> relative_to_c = {}) {
  return {temperature_c, 0, Sweep::kNotStated, relative_to_c};
}

}  // namespace

// AT cuts by the coefficients of Gerber and Ballato, vol. 2, 1985, p. 101,
// quoted third-hand; 1.7′ are the only coefficients published. The table is
// worked out from them, so it proves the arithmetic of law, fit and turnovers.
TEST_CASE("at_cut_error: the AT table, through points and back") {
  struct Row {
    double minutes, a, low_turn_c, low_ppm, high_turn_c, high_ppm;
    double ppm[7];
  };
  constexpr double kTemperatures[] = {-40, -20, 0, 50, 70, 85, 105};
  const Row rows[] = {{1.7,
                       -0.1439,
                       5.32,
                       1.83,
                       47.45,
                       -2.23,
                       {-22.37, -4.33, 1.62, -2.18, 2.51, 13.20, 41.21}},
                      {4.0,
                       -0.3387,
                       -5.89,
                       6.83,
                       58.65,
                       -7.77,
                       {-9.71, 4.43, 6.49, -7.05, -6.26, 1.52, 25.63}},
                      {8.0,
                       -0.6773,
                       -19.24,
                       19.68,
                       72.00,
                       -21.55,
                       {12.30, 19.67, 14.96, -15.52, -21.50, -18.80, -1.46}}};
  for (const Row& row : rows) {
    CAPTURE(row.minutes);
    const AtLaw& law = at_laws()[0];
    const DriftAssay assay = assay_of(points_on(
        [&](double t) { return at_cut_error(law, row.minutes, t).value(); },
        -40, 105, 15, Ppm(0.1)));
    const CurveFit& fit = chosen_fit(assay);
    REQUIRE(fit.model == CurveModel::kCubic);
    CHECK(std::abs(curve_coefficients(fit, 25.0)[1].value - row.a) <= 0.5e-4);
    for (std::size_t i = 0; i < std::size(kTemperatures); ++i) {
      CHECK(std::abs(curve_at(fit, at(kTemperatures[i], 25.0)).value -
                     row.ppm[i]) <= 0.5e-2);
    }
    REQUIRE(assay.turnovers.size() == 2);
    CHECK(std::abs(assay.turnovers[0].temperature_c - row.low_turn_c) <=
          0.5e-2);
    CHECK(std::abs(assay.turnovers[0].error.value - row.low_ppm) <= 0.5e-2);
    CHECK(std::abs(assay.turnovers[1].temperature_c - row.high_turn_c) <=
          0.5e-2);
    CHECK(std::abs(assay.turnovers[1].error.value - row.high_ppm) <= 0.5e-2);
    const PartFinding part = infer_part(assay, {});
    CHECK(part.kind == PartKind::kAtCut);
    REQUIRE(part.cut_angles.size() == 2);
    CHECK(part.cut_angles[0].minutes ==
          testing::approx(row.minutes).epsilon(1e-9));
    CHECK_FALSE(part.cut_angles[0].law.from_memory);
    CHECK(part.cut_angles[1].law.from_memory);
    // The inflection is not at 25: -b/(3c) beyond it is 26.38 by this law.
    const auto c = curve_coefficients(fit, 25.0);
    CHECK(std::abs(25.0 - c[2].value / (3.0 * c[3].value) - 26.38) <= 0.5e-2);
  }
}

// sci.electronics.design, 2002: a tuning fork of -0.04 ppm/K^2 is off by -1, -9
// and -25 ppm at 20/30, 10/40 and 0/50 degrees; TI E2E 362296: -169 ppm at -40.
TEST_CASE("infer_part: published points of a tuning fork give its parabola") {
  const double published[][2] = {{0, -25}, {10, -9}, {20, -1},
                                 {30, -1}, {40, -9}, {50, -25}};
  std::vector<DriftPoint> points;
  for (const auto& [t, ppm] : published) {
    DriftPoint p;
    p.temperature_c = t;
    p.error = Ppm(ppm);
    p.u = Ppm(0.5 / std::sqrt(3.0));  // printed to 1 ppm
    points.push_back(p);
  }
  const DriftAssay assay = assay_of(points);
  const CurveFit& fit = chosen_fit(assay);
  REQUIRE(fit.model == CurveModel::kParabola);
  const auto c = curve_coefficients(fit, 25.0);
  CHECK(c[2].value == testing::approx(-0.04).epsilon(1e-12));
  REQUIRE(assay.turnovers.size() == 1);
  CHECK(assay.turnovers[0].temperature_c ==
        testing::approx(25.0).epsilon(1e-12));
  CHECK(curve_at(fit, at(-40.0)).value ==
        testing::approx(-169.0).epsilon(1e-9));
  // A curve does not tell a fork from a BT cut; a frequency does.
  CHECK(infer_part(assay, {}).kind == PartKind::kNotTold);
  CHECK(infer_part(assay, Hertz(32768.0)).kind == PartKind::kTuningFork);
  // A clock multiplied from a fork has the fork's curve.
  CHECK(infer_part(assay, Hertz(25e6)).kind == PartKind::kNotTold);
}

TEST_CASE("infer_part: a parabola no fork has is a BT cut's, by frequency") {
  const auto cut = [](double t) { return -0.04 * (t - 45) * (t - 45); };
  const DriftAssay assay = assay_of(points_on(cut, -40, 85, 13, Ppm(0.1)));
  CHECK(infer_part(assay, Hertz(25e6)).kind == PartKind::kBtCut);
  // Resonators of surface waves have it too.
  CHECK(infer_part(assay, Hertz(400e6)).kind == PartKind::kNotTold);
}

TEST_CASE("infer_part: what is steep is no quartz, what is flat is not told") {
  const auto steep = [](double t) { return 300.0 * (t - 25); };
  CHECK(infer_part(assay_of(points_on(steep, 0, 60, 9, Ppm(20.0))), {}).kind ==
        PartKind::kRcOscillator);
  // A ceramic resonator may be as steep as that.
  const auto half = [](double t) { return -30.0 * (t - 25); };
  CHECK(infer_part(assay_of(points_on(half, 0, 60, 9, Ppm(20.0))), {}).kind ==
        PartKind::kNoQuartz);
  const auto flat = [](double t) { return 0.1 * (t - 25); };
  CHECK(infer_part(assay_of(points_on(flat, 0, 60, 9, Ppm(0.1))), {}).kind ==
        PartKind::kNotTold);
  // A cubic of half the law's coefficient is no AT cut.
  const auto other = [](double t) { return 54e-6 * std::pow(t - 25, 3); };
  const PartFinding part =
      infer_part(assay_of(points_on(other, -40, 85, 12, Ppm(0.1))), {});
  CHECK(part.kind == PartKind::kNotTold);
  CHECK(part.cut_angles.empty());
}

TEST_CASE("infer_part: a bent fork is no AT cut, a bent RC oscillator no BT") {
  // A fork with as much of a cubic as an AT cut: its square is 80 times theirs.
  const auto bent = [](double t) {
    const double x = t - 25.0;
    return x * x * (-0.035 + 108.6e-6 * x);
  };
  const DriftAssay fork = assay_of(points_on(bent, -20, 70, 13, Ppm(0.01)));
  REQUIRE(chosen_fit(fork).model == CurveModel::kCubic);
  for (const auto frequency :
       {std::optional<Hertz>(), {Hertz(32768.0)}, {Hertz(16e6)}}) {
    CHECK(infer_part(fork, frequency).kind == PartKind::kNotTold);
    CHECK(infer_part(fork, frequency).cut_angles.empty());
  }
  const auto cut = [](double t) {
    return at_cut_error(at_laws()[0], 3.0, t).value();
  };
  // No AT cut runs at 32 kHz.
  const DriftAssay at = assay_of(points_on(cut, -40, 85, 13, Ppm(0.1)));
  CHECK(infer_part(at, Hertz(16e6)).kind == PartKind::kAtCut);
  CHECK(infer_part(at, Hertz(32768.0)).kind == PartKind::kNotTold);
  // -2 ppm/K^2: 200 ppm/K at 50 K from its top.
  const auto rc = [](double t) { return -2.0 * (t - 25) * (t - 25); };
  CHECK(infer_part(assay_of(points_on(rc, -40, 85, 13, Ppm(20.0))), Hertz(16e6))
            .kind == PartKind::kRcOscillator);
  // Four times as flat as a BT cut.
  const auto flat = [](double t) { return -0.01 * (t - 25) * (t - 25); };
  CHECK(
      infer_part(assay_of(points_on(flat, -40, 85, 13, Ppm(0.1))), Hertz(16e6))
          .kind == PartKind::kNotTold);
}

TEST_CASE("infer_part: twelve points without u tell an AT cut") {
  auto points = points_on(
      [](double t) { return at_cut_error(at_laws()[0], 3.0, t).value(); }, -40,
      85, 12, Ppm(0.1));
  constexpr unsigned kSeed = 7;
  INFO("seed " << kSeed);
  std::mt19937_64 random(kSeed);
  std::normal_distribution<double> normal(0.0, 0.1);
  int told = 0;
  constexpr int kTrials = 20;
  for (int trial = 0; trial < kTrials; ++trial) {
    auto noisy = points;
    for (DriftPoint& p : noisy) {
      p.u.reset();
      p.error = p.error + Ppm(normal(random));
    }
    told += infer_part(assay_of(noisy), {}).kind == PartKind::kAtCut;
  }
  // A point is marked in one series of a hundred, and the name may go with it.
  CHECK(told >= kTrials - 2);
}

TEST_CASE("infer_part: a marked point gives no name") {
  // An AT cut, its last reading 3000 ppm off: that makes the curve as steep as
  // an RC oscillator's.
  auto points = points_on(
      [](double t) { return at_cut_error(at_laws()[0], 3.0, t).value(); }, -40,
      85, 26, Ppm(0.1));
  points[12].error = points[12].error + Ppm(3000.0);
  const DriftAssay assay = assay_of(points);
  REQUIRE(assay.outliers.size() == 1);
  const PartFinding part = infer_part(assay, Hertz(16e6));
  CHECK(part.kind == PartKind::kNotTold);
  CHECK(part.cut_angles.empty());
  REQUIRE(part.reasons.size() == 1);
  CHECK(part.reasons[0].find("without them \"AT cut\"") != std::string::npos);
}
