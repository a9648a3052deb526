// SPDX-License-Identifier: GPL-3.0-or-later
#include "clockassay/oscillator/typical_crystal.h"

#include <doctest/doctest.h>

#include <algorithm>
#include <cmath>
#include <random>

#include "support/approx.h"
#include "support/load_vectors.h"

namespace clockassay {
namespace {

const Hertz kAt(16e6);
const Hertz kFork(32768.0);

struct Ends {
  double low = 1e300;
  double high = -1e300;
  void meet(double value) {
    low = std::min(low, value);
    high = std::max(high, value);
  }
};

TEST_CASE("crystal_range: what is published is taken as it is") {
  const CrystalRange range = crystal_range(Farads(3e-12), Farads(8e-15), kAt);
  CHECK(range.middle.c1 == Farads(8e-15));
  CHECK(range.middle.c0 == Farads(3e-12));
  CHECK(range.outline.size() == 1);
  CHECK(range.assumed.empty());
}

TEST_CASE("crystal_range: one published leaves the other its range") {
  const CrystalRange by_c0 = crystal_range(Farads(3e-12), {}, kAt);
  REQUIRE(by_c0.assumed.size() == 1);
  Ends ratio;
  for (const MotionalCrystal& c : by_c0.outline) {
    CHECK(c.c0 == Farads(3e-12));
    ratio.meet(c.c0 / c.c1);
  }
  CHECK(ratio.low == testing::approx(180.0).epsilon(1e-12));
  CHECK(ratio.high == testing::approx(500.0).epsilon(1e-12));
  const CrystalRange by_c1 = crystal_range({}, Farads(8e-15), kAt);
  REQUIRE(by_c1.assumed.size() == 1);
  CHECK(by_c1.outline.size() == 2);
  const CrystalRange fork = crystal_range({}, Farads(2.2e-15), kFork);
  REQUIRE(fork.assumed.size() == 1);
  CHECK(fork.assumed[0] == "C0 from 0.6 to 2 pF, as of a tuning fork");
  CHECK(crystal_range({}, {}, kFork).assumed.size() == 2);
  CHECK(crystal_range({}, {}, kAt).assumed.size() == 2);
}

TEST_CASE("crystal_range: holds published crystals") {
  // Jig measurement of a 20 MHz crystal, a radio clock's 77.5 kHz, a puzzle's
  // 10 MHz and the impedance of a 14.3 MHz one; sources in the vectors.
  const auto holds = [](double c0, double c1, double hz) {
    Ends c1_ends, ratio;
    for (const MotionalCrystal& c : crystal_range({}, {}, Hertz(hz)).outline) {
      c1_ends.meet(c.c1.value());
      ratio.meet(c.c0 / c.c1);
    }
    return c1 >= c1_ends.low * (1 - 1e-12) && c1 <= c1_ends.high &&
           c0 / c1 >= ratio.low && c0 / c1 <= ratio.high;
  };
  CHECK(holds(4.79e-12, 2.604e-14, 20e6));
  CHECK(holds(6.3705e-12, 2.71e-14, 10e6));
  CHECK(holds(4.15e-12, 1.88e-14, 14.3e6));
  CHECK(holds(1.25e-12, 1.35e-15, 77.5e3));
  CHECK_FALSE(holds(4.79e-12, 60e-15, 20e6));
}

TEST_CASE("crystal_range: the outline has the extremes of the load") {
  const unsigned seed = 99;
  CAPTURE(seed);
  std::mt19937_64 random(seed);
  std::uniform_real_distribution<double> unit(0.0, 1.0);
  const Farads nominal(12e-12);
  for (const double ppm : {-60.0, -5.0, 5.0, 60.0, 200.0}) {
    CAPTURE(ppm);
    Ends outline;
    const CrystalRange range = crystal_range({}, {}, kAt);
    for (const MotionalCrystal& c : range.outline) {
      const auto load = load_after_pull(c, nominal, Ppm(ppm));
      // -60 ppm is beyond what the smallest C1 can do.
      outline.meet(load ? load->value() : 1.0);
    }
    const double slack = 0.01 * (outline.high - outline.low);
    for (int i = 0; i < 2000; ++i) {
      const double c1 = 2e-15 * std::pow(15.0, unit(random));
      const double c0 = c1 * (180.0 + 320.0 * unit(random));
      const auto load =
          load_after_pull({Farads(c1), Farads(c0)}, nominal, Ppm(ppm));
      if (!load) continue;
      CHECK(load->value() >= outline.low - slack);
      CHECK(load->value() <= outline.high + slack);
    }
    const auto middle = load_after_pull(range.middle, nominal, Ppm(ppm));
    REQUIRE(middle);
    CHECK(middle->value() > outline.low);
    CHECK(middle->value() < outline.high);
  }
}

}  // namespace
}  // namespace clockassay
