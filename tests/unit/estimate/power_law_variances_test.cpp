// SPDX-License-Identifier: GPL-3.0-or-later
// Variances of noise whose density is known.
#include <doctest/doctest.h>

#include <cmath>
#include <cstdio>
#include <numbers>
#include <optional>
#include <random>
#include <string>
#include <vector>

#include "clockassay/estimate/stability.h"
#include "estimate/deviation_confidence.h"
#include "estimate/noise_exponent.h"
#include "support/approx.h"
#include "support/power_law_noise.h"
#include "unit/estimate/doc_table.h"
#include "unit/estimate/phase_series.h"

using namespace clockassay;

namespace {

double squared(const std::optional<double>& v) {
  return *v * *v;
}

constexpr int kSeries = 40;
constexpr std::int64_t kPhases = 2000;

/// Means over kSeries series of kPhases of the variances at m = 1, 2, 4, ...
struct MeanVariances {
  std::vector<double> avar, mvar, hvar;
};

template <class Make>
MeanVariances mean_variances(const Make& make) {
  MeanVariances mean;
  for (int s = 0; s < kSeries; ++s) {
    const Stability stability = describe(make());
    const std::size_t count = stability.points.size();
    for (auto* list : {&mean.avar, &mean.mvar, &mean.hvar}) list->resize(count);
    for (std::size_t i = 0; i < count; ++i) {
      const StabilityPoint& p = stability.points[i];
      mean.avar[i] += squared(p.adev) / kSeries;
      mean.mvar[i] += squared(p.mdev) / kSeries;
      mean.hvar[i] += squared(p.hdev) / kSeries;
    }
  }
  return mean;
}

/// What the means above are off by at most at 2^i, by their degrees of freedom.
struct Spreads {
  double avar, mvar, hvar;
};
Spreads spreads(NoiseKind kind, std::size_t i) {
  const auto m = std::int64_t{1} << i;
  const auto averaging = static_cast<double>(m);
  return {
      spread(kSeries * allan_dof(kind, m, m, kPhases - 2 * m)),
      spread(kSeries * equivalent_dof(kind, {2, 1.0, m, kPhases - 3 * m + 1})),
      spread(kSeries *
             equivalent_dof(kind, {3, averaging, m, kPhases - 3 * m}))};
}

}  // namespace

TEST_CASE("describe_stability: white noise of the edges, variances exactly") {
  // sigma = 1 for each edge: AVAR = 3/tau^2, MVAR = 3/(n tau^2),
  // HVAR = (10/3)/tau^2, with tau = n (derived: sums of squares of the
  // weights).
  constexpr std::uint64_t kSeed = 431;
  INFO("seed ", kSeed);
  std::mt19937_64 random(kSeed);
  const auto mean = mean_variances([&] { return white(kPhases, random); });
  REQUIRE(mean.avar.size() == 9);  // up to 256 of 1999/4
  for (std::size_t i = 0; i < mean.avar.size(); ++i) {
    const double n = std::ldexp(1.0, static_cast<int>(i));
    const Spreads within = spreads(NoiseKind::kWhitePhase, i);
    CAPTURE(n);
    CHECK(mean.avar[i] == testing::approx(3.0 / (n * n)).epsilon(within.avar));
    CHECK(mean.mvar[i] ==
          testing::approx(3.0 / (n * n * n)).epsilon(within.mvar));
    CHECK(mean.hvar[i] ==
          testing::approx(10.0 / 3.0 / (n * n)).epsilon(within.hvar));
  }
}

TEST_CASE("describe_stability: white frequency, IEEE 1139 constants") {
  // Periods of variance 1: h0 = 2, AVAR = h0/(2 tau) = 1/tau; MVAR = h0/(4 tau)
  // for large n, exactly (n^2 + 1)/(2 n^2) of AVAR; HVAR = 1/tau.
  constexpr std::uint64_t kSeed = 432;
  INFO("seed ", kSeed);
  std::mt19937_64 random(kSeed);
  const auto mean = mean_variances([&] {
    auto x = white(kPhases, random);
    accumulate(x);
    return x;
  });
  for (std::size_t i = 0; i < mean.avar.size(); ++i) {
    const double n = std::ldexp(1.0, static_cast<int>(i));
    const Spreads within = spreads(NoiseKind::kWhiteFrequency, i);
    CAPTURE(n);
    CHECK(mean.avar[i] == testing::approx(1.0 / n).epsilon(within.avar));
    CHECK(mean.mvar[i] == testing::approx((n * n + 1.0) / (2.0 * n * n * n))
                              .epsilon(within.mvar));
    CHECK(mean.hvar[i] == testing::approx(1.0 / n).epsilon(within.hvar));
  }
}

TEST_CASE("describe_stability: walking frequency, IEEE 1139 constants") {
  // Steps of the frequency of variance q = 1: h-2 = q/(2 pi^2), AVAR = (2
  // pi^2/3) h-2 tau = tau/3 for large n, exactly (2 n^2 + 1)/(6 n); MVAR =
  // (11 pi^2/20) h-2 tau = 11 tau/40 for large n.
  constexpr std::uint64_t kSeed = 433;
  INFO("seed ", kSeed);
  std::mt19937_64 random(kSeed);
  const auto mean = mean_variances([&] {
    auto x = white(kPhases, random);
    accumulate(x);
    accumulate(x);
    return x;
  });
  for (std::size_t i = 0; i < mean.avar.size(); ++i) {
    const double n = std::ldexp(1.0, static_cast<int>(i));
    const Spreads within = spreads(NoiseKind::kWalkFrequency, i);
    CAPTURE(n);
    CHECK(
        mean.avar[i] ==
        testing::approx((2.0 * n * n + 1.0) / (6.0 * n)).epsilon(within.avar));
    if (n < 8.0) continue;  // the next order, 1/n^2, is 2 % there
    CHECK(
        mean.mvar[i] ==
        testing::approx(11.0 * n / 40.0).epsilon(1.0 / (n * n) + within.mvar));
  }
}

namespace {

/// One-sided density h f^alpha of the frequency; what IEEE 1139 makes of it,
/// tau0 = 1 and tau = m; HVAR as derived below.
struct PowerLawConstants {
  NoiseKind kind;
  const char* name;
  /// Times h tau^mu.
  double (*avar)(double tau);
  double (*mvar)(double tau);
  double (*hvar)(double tau);
};

constexpr double kPi = std::numbers::pi;
// Half the rate, and for flicker of the phase what the generator's density,
// that of 1/f times pi f / sin(pi f), adds to it: the integral of the
// difference up to half the rate is ln(4/pi), as if 1/f went on to 4/pi of
// that.
constexpr double kCutOff = 0.5;
constexpr double kFlickerCutOff = kCutOff * 4.0 / kPi;

double flicker_log(double tau) {
  return std::log(2.0 * kPi * kFlickerCutOff * tau);
}

// With D(t) the mean square of x(s + t) - x(s), the second differences have 4
// D(t) - D(2t), the third ones 15 D(t) - 6 D(2t) + D(3t); D goes as a constant,
// as ln t, t, -t^2 ln t and -t^3 for these kinds, which turns each AVAR into
// the HVAR beside it.
const PowerLawConstants kPowerLaws[] = {
    {NoiseKind::kWhitePhase, "white phase",
     [](double t) { return 3.0 * kCutOff / (4.0 * kPi * kPi * t * t); },
     [](double t) { return 3.0 / (8.0 * kPi * kPi * t * t * t); },
     [](double t) { return 10.0 / 3.0 * kCutOff / (4.0 * kPi * kPi * t * t); }},
    {NoiseKind::kFlickerPhase, "flicker phase",
     [](double t) {
       return (1.038 + 3.0 * flicker_log(t)) / (4.0 * kPi * kPi * t * t);
     },
     [](double t) {
       return 3.0 * std::log(256.0 / 27.0) / (8.0 * kPi * kPi * t * t);
     },
     [](double t) {
       return (0.904 + 10.0 / 3.0 * flicker_log(t)) / (4.0 * kPi * kPi * t * t);
     }},
    {NoiseKind::kWhiteFrequency, "white frequency",
     [](double t) { return 0.5 / t; }, [](double t) { return 0.25 / t; },
     [](double t) { return 0.5 / t; }},
    {NoiseKind::kFlickerFrequency, "flicker frequency",
     [](double) { return 2.0 * std::numbers::ln2; },
     [](double) {
       return 2.0 * std::log(3.0 * std::pow(3.0, 11.0 / 16.0) / 4.0);
     },
     [](double) { return 0.5 * std::log(256.0 / 27.0); }},
    {NoiseKind::kWalkFrequency, "walk of frequency",
     [](double t) { return 2.0 * kPi * kPi / 3.0 * t; },
     [](double t) { return 11.0 * kPi * kPi / 20.0 * t; },
     [](double t) { return kPi * kPi / 3.0 * t; }}};

/// Mean of the generator's density times the squared response of each
/// statistic, by the midpoint rule.
struct Expected {
  double avar = 0.0, mvar = 0.0, hvar = 0.0;
};
Expected expected(int alpha, double m) {
  constexpr int kSteps = 1 << 16;
  Expected sum;
  for (int i = 0; i < kSteps; ++i) {
    const double f = (i + 0.5) / (2.0 * kSteps);
    const double s = std::sin(kPi * f), sm = std::sin(kPi * f * m);
    const double density = std::pow(2.0 * s, alpha - 2) / kSteps;
    const double s4 = sm * sm * sm * sm;
    sum.avar += density * 8.0 * s4 / (m * m);
    sum.mvar += density * 8.0 * s4 * sm * sm / (m * m * m * m * s * s);
    sum.hvar += density * 64.0 / 6.0 * s4 * sm * sm / (m * m);
  }
  return sum;
}

/// Sampling instead of continuous time, relative, from the integrals: see the
/// first test below.
double discrete(double m) {
  return 3.0 / (m * m);
}

}  // namespace

TEST_CASE("power laws: IEEE 1139 is what the density makes, but for sampling") {
  // By an integral over the density, no simulation. What is left falls as
  // 1/m^2, with flicker times a logarithm: at most 2.4/m^2 up to m = 128.
  for (const PowerLawConstants& law : kPowerLaws) {
    const int alpha = alpha_of(law.kind);
    const double h = 2.0 * std::pow(2.0 * kPi, alpha);
    for (double m = 1.0; m <= 128.0; m *= 2.0) {
      CAPTURE(law.name);
      CAPTURE(m);
      const Expected e = expected(alpha, m);
      // 1.038 and 0.904 are rounded: 4e-4 of 4.5 and more.
      const double within = discrete(m) + 1e-4;
      CHECK(std::abs(e.avar / (h * law.avar(m)) - 1.0) <= within);
      CHECK(std::abs(e.mvar / (h * law.mvar(m)) - 1.0) <= within);
      CHECK(std::abs(e.hvar / (h * law.hvar(m)) - 1.0) <= within);
    }
  }
}

TEST_CASE("describe_stability: IEEE 1139 constants by simulation, as shown") {
  constexpr std::uint64_t kSeed = 434;
  INFO("seed ", kSeed);
  std::mt19937_64 random(kSeed);
  std::string table =
      "| noise | m | AVAR | MVAR | HVAR |\n|---|---|---|---|---|\n";
  const auto compare = [&](double seen, double constant, double within) {
    const double ratio = seen / constant;
    CHECK(ratio == testing::approx(1.0).epsilon(within));
    char cell[64];
    std::snprintf(cell, sizeof cell, " | %.3f (%.3f)", ratio, within);
    table += cell;
  };
  for (const PowerLawConstants& law : kPowerLaws) {
    const int alpha = alpha_of(law.kind);
    const double h = 2.0 * std::pow(2.0 * kPi, alpha);
    const auto mean = mean_variances(
        [&] { return discrete_power_law_noise(alpha, kPhases, random); });
    for (std::size_t i = 3; i <= 7; i += 2) {  // m = 8, 32, 128
      const double m = std::ldexp(1.0, static_cast<int>(i));
      CAPTURE(law.name);
      CAPTURE(m);
      const Spreads within = spreads(law.kind, i);
      table += std::string("| ") + law.name + " | " +
               std::to_string(std::int64_t{1} << i);
      compare(mean.avar[i], h * law.avar(m), discrete(m) + within.avar);
      compare(mean.mvar[i], h * law.mvar(m), discrete(m) + within.mvar);
      compare(mean.hvar[i], h * law.hvar(m), discrete(m) + within.hvar);
      table += " |\n";
    }
  }
  testing::check_doc_table("stability.md", "IEEE 1139", table);
}
