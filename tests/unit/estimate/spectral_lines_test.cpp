// SPDX-License-Identifier: GPL-3.0-or-later
#include "estimate/spectral_lines.h"

#include <doctest/doctest.h>

#include <algorithm>
#include <boost/math/special_functions/gamma.hpp>
#include <cmath>
#include <random>

#include "support/approx.h"

using namespace clockassay;

namespace {

/// What a noiseless line leaves in three bins, so far from the middle one.
std::array<double, 3> powers(const SpectralWindow& window, double offset) {
  std::array<double, 3> p{};
  for (int i = 0; i < 3; ++i) {
    p[static_cast<std::size_t>(i)] =
        std::pow(window.response(i - 1 - offset), 2);
  }
  return p;
}

}  // namespace

TEST_CASE("parabola_offset: its bias is that of this window") {
  // Parabola through logarithms of a 4-term Blackman-Harris window of 256
  // values, the worst place of a complex tone: 0.00320 bins, recomputed from
  // its transform after Gasior and Gonzalez, AIP Conf. Proc. 732, 2004.
  const SpectralWindow window(256);
  double worst = 0.0, corrected = 0.0;
  for (double offset = -0.5; offset <= 0.5; offset += 0.005) {
    const auto p = powers(window, offset);
    worst =
        std::max(worst, std::abs(parabola_offset(p[0], p[1], p[2]) - offset));
    corrected = std::max(
        corrected, std::abs(line_offset(window, p[0], p[1], p[2]) - offset));
  }
  CHECK(std::abs(worst - 0.00320) < 5e-6);
  // Of 0.0032 each of four steps leaves a twentieth.
  CHECK(corrected < 0.0032 / 160'000.0);
}

TEST_CASE("find_floor: the mean of averaged exponentials, with its scatter") {
  constexpr std::uint64_t kSeed = 21;
  INFO("seed ", kSeed);
  std::mt19937_64 random(kSeed);
  const SpectralWindow window(1024);
  for (const double averages : {2.0, 16.0, 200.0}) {
    CAPTURE(averages);
    // A floor that falls as the fourth power, of bins that are independent.
    std::gamma_distribution<double> gamma(averages, 1.0 / averages);
    double mean = 0.0, squares = 0.0, n = 0.0, dof = 0.0;
    for (int trial = 0; trial < 100; ++trial) {
      std::vector<double> density(513);
      for (std::size_t i = 1; i < density.size(); ++i) {
        density[i] = gamma(random) * 1e-20 / std::pow(i, 4);
      }
      const SpectralFloor floor = find_floor(density, 4, averages, window);
      dof = floor.dof;
      for (std::size_t i = 128; i < 500; i += 124) {
        const double part = floor.level[i] * std::pow(i, 4) / 1e-20;
        mean += part;
        squares += (part - 1.0) * (part - 1.0);
        n += 1.0;
      }
    }
    // Bins of a window are 2.6 times fewer than these, so that it scatters by
    // less than it says; its own scatter is within a tenth of that.
    const double said = 2.0 / dof;
    CHECK(std::abs(mean / n - 1.0) < 0.01 + 4.0 * std::sqrt(said / n));
    CHECK(squares / n < said);
    CHECK(squares / n > said / 5.0);
  }
}

TEST_CASE("find_lines: a false alarm is as likely as an averaged exponential") {
  // With a floor that is known (dof without end) the probability of one bin is
  // the tail of a gamma distribution, of B of them 1 - (1 - p)^B.
  const SpectralWindow window(256);
  SearchedDensity s;
  s.density.assign(129, 1.0);
  s.density[60] = 2.5;
  s.floor.level.assign(129, 1.0);
  s.floor.dof = 1e9;
  s.bin_hz = 10.0;
  s.averages = 16.0;
  s.segments = 16;
  s.first = 8;
  s.last = 128;
  s.to_half_rate = true;
  const auto lines = find_lines(s, window, 121, 0.5);
  REQUIRE(lines.size() == 1);
  const double one = boost::math::gamma_q(16.0, 16.0 * 2.5);
  CHECK(lines[0].false_alarm ==
        testing::approx(1.0 - std::pow(1.0 - one, 121)).epsilon(1e-4));
  CHECK(find_lines(s, window, 121, 0.5 * lines[0].false_alarm).empty());
}

TEST_CASE("find_lines: what a window leaves of a line is no other line") {
  const SpectralWindow window(256);
  SearchedDensity s;
  s.floor.level.assign(129, 1e-12);
  s.floor.dof = 1000.0;
  s.averages = 16.0;
  s.segments = 16;
  s.bin_hz = 1.0;
  s.first = 8;
  s.last = 128;
  s.to_half_rate = true;
  for (int i = 0; i <= 128; ++i) {
    s.density.push_back(1e-12 + std::pow(window.response(i - 40.3), 2));
  }
  const auto lines = find_lines(s, window, 121, 1e-3);
  REQUIRE(lines.size() == 1);
  CHECK(lines[0].frequency == testing::approx(40.3).epsilon(1e-7));
  // |amplitude|² / 2 over the noise bandwidth is the density of a line.
  CHECK(
      lines[0].amplitude ==
      testing::approx(std::sqrt(2.0 * window.noise_bandwidth())).epsilon(1e-6));
}
