// SPDX-License-Identifier: GPL-3.0-or-later
#include "estimate/spread_spectrum.h"

#include <doctest/doctest.h>

#include <numbers>
#include <vector>

#include "support/approx.h"

using namespace clockassay;

namespace {

constexpr double kClock = 24e6;

/// The fundamental of a sinusoidal spread of that depth.
SpectralLine line_of(double depth, double rate) {
  SpectralLine line;
  line.frequency = rate;
  line.standard_uncertainty_hz = 1.0;
  line.amplitude = depth / (4.0 * std::numbers::pi * rate);
  line.amplitude_uncertainty = 1e-12;
  line.bin_hz = 100.0;
  return line;
}

/// Nothing else in the way.
double quiet(double) {
  return 1e-12;
}

}  // namespace

TEST_CASE("find_spread: a sinusoid of the frequency, its depth from A") {
  const auto found = find_spread({line_of(5e-3, 31e3)}, kClock, 0.0, quiet);
  REQUIRE(found);
  CHECK(found->spread.depth.value() == testing::approx(5000.0));
  CHECK(found->spread.profile == SpreadProfile::kSine);
  CHECK(found->spread.lowest.value() == testing::approx(kClock * 0.9975));
  CHECK(found->spread.highest.value() == testing::approx(kClock * 1.0025));
  CHECK(found->is_harmonic == std::vector<bool>{true});
}

TEST_CASE("find_spread: shallow or fast lines are spurs") {
  CHECK(find_spread({line_of(1.01e-3, 31e3)}, kClock, 0.0, quiet));
  CHECK_FALSE(find_spread({line_of(0.99e-3, 31e3)}, kClock, 0.0, quiet));
  CHECK(find_spread({line_of(5e-3, 149e3)}, kClock, 0.0, quiet));
  CHECK_FALSE(find_spread({line_of(5e-3, 151e3)}, kClock, 0.0, quiet));
  // A sixteenth of 1.6 MHz is 100 kHz.
  CHECK(find_spread({line_of(5e-3, 99e3)}, 1.6e6, 0.0, quiet));
  CHECK_FALSE(find_spread({line_of(5e-3, 101e3)}, 1.6e6, 0.0, quiet));
  // Slow or deep ones are none either.
  CHECK(find_spread({line_of(5e-3, 3.1e3)}, kClock, 0.0, quiet));
  CHECK_FALSE(find_spread({line_of(5e-3, 2.9e3)}, kClock, 0.0, quiet));
  CHECK(find_spread({line_of(0.099, 31e3)}, kClock, 0.0, quiet));
  CHECK_FALSE(find_spread({line_of(0.101, 31e3)}, kClock, 0.0, quiet));
}

TEST_CASE("find_spread: no harmonic of what is slower and stronger") {
  const SpectralLine line = line_of(5e-3, 31e3);
  CHECK(find_spread({line}, kClock, 0.99 * line.amplitude, quiet));
  CHECK_FALSE(find_spread({line}, kClock, 1.01 * line.amplitude, quiet));
}

TEST_CASE("find_spread: its size is known to a fifth") {
  SpectralLine line = line_of(5e-3, 31e3);
  line.amplitude_uncertainty = line.amplitude / 5.1;
  CHECK(find_spread({line}, kClock, 0.0, quiet));
  line.amplitude_uncertainty = line.amplitude / 4.9;
  CHECK_FALSE(find_spread({line}, kClock, 0.0, quiet));
}

TEST_CASE(
    "find_spread: harmonics belong to it, a stronger fast line does not") {
  // A triangle's third harmonic has 1/9 of the deviation: 1/27 of the time.
  const SpectralLine first = line_of(5e-3, 31e3);
  SpectralLine third = line_of(5e-3, 93e3);
  third.amplitude = first.amplitude / 27.0;
  SpectralLine fast = line_of(5e-3, 1.01e6);
  fast.amplitude = 2.0 * first.amplitude;
  const auto found = find_spread({fast, first, third}, kClock, 0.0, quiet);
  REQUIRE(found);
  CHECK(found->spread.rate.value() == 31e3);
  CHECK(found->spread.profile == SpreadProfile::kTriangle);
  // A triangle is pi²/8 times as deep as its fundamental.
  CHECK(found->spread.depth.value() ==
        testing::approx(5000.0 * std::numbers::pi * std::numbers::pi / 8.0));
  CHECK(found->is_harmonic == std::vector<bool>{false, true, true});
}

TEST_CASE("find_spread: a profile that noise hides is not named") {
  const SpectralLine first = line_of(5e-3, 31e3);
  double asked = 0.0;
  const auto found = find_spread({first}, kClock, 0.0, [&](double frequency) {
    asked = frequency;
    return first.amplitude / 27.0;
  });
  REQUIRE(found);
  CHECK(asked == 93e3);
  CHECK(found->spread.profile == SpreadProfile::kNotSeen);
  // Half way from a sine to a cusp with a third harmonic of 1/9 of the
  // deviation and all beyond, and a rectangle's uncertainty.
  const double cusp = 1.0 + 2.5 / 9.0;
  CHECK(found->spread.depth.value() ==
        testing::approx(5000.0 * 0.5 * (1.0 + cusp)));
  CHECK(found->spread.depth_uncertainty.value() >
        5000.0 * 0.5 * (cusp - 1.0) / std::numbers::sqrt3);
  // A second harmonic is no triangle's.
  SpectralLine second = line_of(5e-3, 62e3);
  second.amplitude = 0.06 * first.amplitude;
  CHECK(find_spread({first, second}, kClock, 0.0, quiet)->spread.profile ==
        SpreadProfile::kOther);
}
