// SPDX-License-Identifier: GPL-3.0-or-later
#include "estimate/thinned_series.h"

#include <doctest/doctest.h>

#include <cmath>
#include <limits>
#include <vector>

#include "support/approx.h"
#include "support/two_threads.h"

using namespace clockassay;

namespace {

constexpr std::int64_t kFactor = 16;

ThinnedSeries thinned_sine(double frequency, std::int64_t count = 40'000,
                           const ParallelFor& parallel_for = serial_for) {
  const SeriesReader sine = [=](std::int64_t at, std::span<double> out) {
    for (std::size_t i = 0; i < out.size(); ++i) {
      const auto t = static_cast<double>(at + static_cast<std::int64_t>(i));
      out[i] = std::cos(2.0 * M_PI * frequency * t);
    }
  };
  return ThinnedSeries(sine, count, kFactor, parallel_for);
}

double mean_square(const ThinnedSeries& s) {
  double sum = 0.0;
  for (const double v : s.values()) sum += v * v;
  return sum / static_cast<double>(s.values().size());
}

}  // namespace

TEST_CASE("ThinnedSeries: a slow line keeps what is said") {
  for (const double part : {0.01, 0.05, 0.11, 0.125}) {
    const double frequency = part / kFactor;
    const ThinnedSeries s = thinned_sine(frequency);
    CHECK(s.values().size() == (40'000 - 8 * kFactor) / kFactor + 1);
    // Half a turn more or less of 2500 means at 0.01 turns each: 1/50.
    CHECK(mean_square(s) / s.power_response(frequency) ==
          testing::approx(0.5).epsilon(0.02));
  }
  CHECK(thinned_sine(0.001).highest() == 0.125 / kFactor);
  // One bin of the window, 1.65 dB (amplitude) … 3.3 dB of power, from its
  // coefficients: 0.48829/2/0.35875.
  CHECK(thinned_sine(0.001).power_response(0.125 / kFactor) ==
        testing::approx(std::pow(0.48829 / 2.0 / 0.35875, 2)).epsilon(1e-6));
}

TEST_CASE("ThinnedSeries: what would be folded below its end is 92 dB down") {
  for (const double part : {0.875, 0.95, 1.1, 1.9, 3.0, 7.7}) {
    CHECK(mean_square(thinned_sine(part / kFactor)) < 0.5 * 6.3e-10);
  }
}

TEST_CASE("ThinnedSeries: unknown values take little off, or all") {
  const double nan = std::numeric_limits<double>::quiet_NaN();
  const auto series = [&](std::int64_t lost) {
    return [=](std::int64_t at, std::span<double> out) {
      for (std::size_t i = 0; i < out.size(); ++i) {
        const std::int64_t k = at + static_cast<std::int64_t>(i);
        out[i] = k >= 1000 && k < 1000 + lost ? nan : 2.0;
      }
    };
  };
  // The window's largest value is 1 over a sum of 0.35875 * 128: one is 2.2 %.
  // Two at its foot are none.
  const ThinnedSeries one(series(1), 4000, kFactor, serial_for);
  std::size_t unknown = 0;
  for (const double v : one.values()) {
    if (std::isnan(v)) {
      ++unknown;
    } else {
      CHECK(v == testing::approx(2.0).epsilon(1e-14));
    }
  }
  // Value 1000 is in eight means, and more than 1/64 in those about whose
  // middle it is: w > 0.72 within 16 of 64.
  CHECK(unknown == 2);
}

TEST_CASE("ThinnedSeries: the same bits by two threads") {
  CHECK(thinned_sine(0.003, 1'000'000).values() ==
        thinned_sine(0.003, 1'000'000, two_threads).values());
}
